/**
 * Module hooks for a worker thread under test: loads the TypeScript sources, compiled as in the build, so that a test runs
 * the code it stands beside and not an older `dist/`. Not used by built programs.
 */
import { fileURLToPath } from 'node:url';
import { transformFile } from '@swc/core';

export async function resolve(specifier, context, next) {
  const isOurs = /^\.{1,2}\/.*\.js$/.test(specifier) && context.parentURL?.endsWith('.ts');
  return next(isOurs ? specifier.replace(/\.js$/, '.ts') : specifier, context);
}

export async function load(url, context, next) {
  if (!url.endsWith('.ts')) return next(url, context);
  const { code } = await transformFile(fileURLToPath(url), { sourceMaps: 'inline' });
  return { format: 'module', source: code, shortCircuit: true };
}
