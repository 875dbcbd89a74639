/**
 * `npm run schema [-- --check]`: writes the GraphQL schema the code makes to apps/api/schema.graphql; with `--check` only
 * compares, and fails when the committed file is not the same text.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { ensureBuilt } from './lib/ensure-built.mjs';
import { ensureInstalled } from './lib/ensure-installed.mjs';
import { LaunchError, launch, root } from './lib/launcher.mjs';

await launch(async () => {
  await ensureInstalled();
  await ensureBuilt();
  const printer = path.join(root, 'dist', 'apps', 'api', 'src', 'print-schema.js');
  const { printCurrentSchema } = await import(pathToFileURL(printer).href);
  const current = await printCurrentSchema();
  const file = path.join(root, 'apps', 'api', 'schema.graphql');
  if (!process.argv.includes('--check')) writeFileSync(file, current);
  else if (readFileSync(file, 'utf8') !== current) {
    throw new LaunchError(
      'apps/api/schema.graphql is not what the code makes: run `npm run schema` and read the difference.',
    );
  }
  process.exit(0); // the application it was printed from may hold connections open
});
