/** `npm run build`: installs what is missing, generates the Prisma client, compiles everything to dist/. */
import { ensureBuilt } from './lib/ensure-built.mjs';
import { ensureInstalled } from './lib/ensure-installed.mjs';
import { launch } from './lib/launcher.mjs';

await launch(async () => {
  await ensureInstalled();
  await ensureBuilt({ force: true });
});
