/**
 * `npm run -s pedigree -- FILE.csv [options]`: the pedigree program through the launcher, so that it works on a fresh
 * clone. Set-up speaks on stderr; stdout is the program's own.
 */
import { spawn } from 'node:child_process';
import path from 'node:path';
import { ensureBuilt } from './lib/ensure-built.mjs';
import { ensureInstalled } from './lib/ensure-installed.mjs';
import { launch, root } from './lib/launcher.mjs';
import { onStopRequest } from './lib/stop-request.mjs';

/** Option that writes into the registry, and so needs its database. */
const WRITES_TO_REGISTRY = '--register-into';

await launch(async () => {
  await ensureInstalled();
  await ensureBuilt();
  const args = process.argv.slice(2);
  const needsDatabase = args.some((arg) => arg === WRITES_TO_REGISTRY || arg.startsWith(`${WRITES_TO_REGISTRY}=`));
  const database = needsDatabase && !process.env.DATABASE_URL ? await openOwnDatabase() : undefined;
  try {
    process.exitCode = await run(args, database ? { DATABASE_URL: database.url } : {});
  } finally {
    await database?.close();
  }
});

/** The database of the launcher that is running now, or the same one started for as long as this takes. */
async function openOwnDatabase() {
  const { dataFolder, runningDatabaseUrl, startEmbeddedPostgres } = await import('./lib/embedded-postgres.mjs');
  const running = runningDatabaseUrl(dataFolder());
  if (running) return { url: running, close: async () => {} };
  const { migrate } = await import('./lib/migrate.mjs');
  const server = await startEmbeddedPostgres(dataFolder());
  try {
    await migrate(server.url('kithbook'));
    return { url: server.url('kithbook'), close: server.stop };
  } catch (error) {
    await server.stop();
    throw error;
  }
}

function run(args, extraEnvironment) {
  // The folder paths are relative to stays the caller's; npm changes it and tells the first one in INIT_CWD.
  const cwd = process.env.INIT_CWD ?? process.cwd();
  const program = path.join(root, 'dist', 'apps', 'pedigree', 'src', 'main.js');
  const child = spawn(process.execPath, ['--enable-source-maps', program, ...args], {
    cwd,
    env: { ...process.env, ...extraEnvironment },
    stdio: 'inherit',
  });
  // Ctrl-C reaches the program too; this process stays to stop the database after it.
  onStopRequest((signal) => child.kill(signal));
  return new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('exit', (code) => resolve(code ?? 1));
  });
}
