/** `npm run check`: every gate, one line each; what a failed gate said comes at the end, with exit code 1. */
import { spawn } from 'node:child_process';
import path from 'node:path';
import { ensureBuilt } from './lib/ensure-built.mjs';
import { ensureInstalled } from './lib/ensure-installed.mjs';
import { launch, root } from './lib/launcher.mjs';

const sources = ['apps', 'libs', 'prisma', 'tests'];

/** Gate → what it runs; resolves with exit status and output. */
const gates = {
  format: () => bin('prettier', 'bin/prettier.cjs', '--check', '--log-level', 'warn', '.'),
  lint: () => bin('eslint', 'bin/eslint.js', '.'),
  types: () => bin('typescript', 'bin/tsc', '-p', '.'),
  'import rules': () =>
    bin(
      'dependency-cruiser',
      'bin/dependency-cruise.mjs',
      '--config',
      '.dependency-cruiser.cjs',
      '--output-type',
      'err',
      ...sources,
    ),
  'GraphQL schema is the committed one': () => node('tools/lib/graphql-drift.mjs'),
  'Prisma schema and migrations agree': prismaDrift,
};

await launch(async () => {
  await ensureInstalled();
  await ensureBuilt();
  const failures = [];
  for (const [name, run] of Object.entries(gates)) {
    const started = performance.now();
    const { status, output } = await run();
    const seconds = ((performance.now() - started) / 1000).toFixed(1);
    console.log(`${status === 0 ? 'ok    ' : 'FAILED'} ${name} (${seconds} s)`);
    if (status !== 0) failures.push(`--- ${name}\n${output}`);
  }
  if (failures.length === 0) return;
  console.log(`\n${failures.join('\n\n')}\n\n${failures.length} of ${Object.keys(gates).length} gates failed`);
  process.exitCode = 1;
});

function bin(name, file, ...args) {
  return node(path.join('node_modules', name, file), ...args);
}

function node(script, ...args) {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [script, ...args], { cwd: root, stdio: ['ignore', 'pipe', 'pipe'] });
    let output = '';
    child.stdout.on('data', (chunk) => (output += chunk));
    child.stderr.on('data', (chunk) => (output += chunk));
    child.on('error', reject);
    child.on('close', (code) => resolve({ status: code ?? 1, output: output.trim() }));
  });
}

/** On a temporary server: Prisma replays the migrations into a shadow database and compares with the schema files. */
async function prismaDrift() {
  const { startTemporaryPostgres } = await import('./lib/embedded-postgres.mjs');
  const { runPrisma } = await import('./lib/prisma-cli.mjs');
  const server = await startTemporaryPostgres();
  try {
    const from = ['--from-migrations', 'prisma/migrations', '--to-schema', 'prisma/schema'];
    return await runPrisma(['migrate', 'diff', ...from, '--exit-code'], { databaseUrl: server.url('postgres') });
  } finally {
    await server.stop();
  }
}
