/**
 * `npm start`: sets up what is missing, starts PostgreSQL unless DATABASE_URL names a server, migrates, loads the demo
 * scenario once, runs the API and the worker, and stops all of it in order on Ctrl-C or SIGTERM.
 */
import { ensureBuilt } from './lib/ensure-built.mjs';
import { ensureInstalled } from './lib/ensure-installed.mjs';
import { launch } from './lib/launcher.mjs';

await launch(async () => {
  await ensureInstalled();
  await ensureBuilt();
  const { runKithbook } = await import('./lib/run-kithbook.mjs');
  await runKithbook(process.env);
  process.exit(0);
});
