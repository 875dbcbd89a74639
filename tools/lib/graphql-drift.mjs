/** Gate of `npm run check`, a process of its own: fails unless apps/api/schema.graphql is the schema the code makes. */
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { LaunchError, launch, root } from './launcher.mjs';

await launch(async () => {
  const printer = path.join(root, 'dist', 'apps', 'api', 'src', 'print-schema.js');
  const { printCurrentSchema } = await import(pathToFileURL(printer).href);
  const committed = readFileSync(path.join(root, 'apps', 'api', 'schema.graphql'), 'utf8');
  if ((await printCurrentSchema()) !== committed) {
    throw new LaunchError(
      'apps/api/schema.graphql is not what the code makes: run `npm run schema`, read the difference.',
    );
  }
  process.exit(0); // the application it was printed from may hold connections open
});
