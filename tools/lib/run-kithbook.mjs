/** One running Kithbook: database, API and worker, from the first check to the last stop. */
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { setTimeout as sleep } from 'node:timers/promises';
import { startChild } from './child-processes.mjs';
import { startEmbeddedPostgres } from './embedded-postgres.mjs';
import { LaunchError, progress, root } from './launcher.mjs';
import { migrate } from './migrate.mjs';
import { readSettings } from './run-settings.mjs';
import { onStopRequest } from './stop-request.mjs';

const READY_MS = 60_000;
const POLL_MS = 250;

/**
 * Runs until it is asked to stop (stop-request.mjs), then stops everything in reverse order of starting.
 * Throws LaunchError with the remedy when something cannot start, or ends by itself later.
 * @param {NodeJS.ProcessEnv} env PORT, PUBLIC_URL, DATA_DIR, DATABASE_URL, REDIS_URL, AUTH_SECRET_FILE are honoured
 * @param {{ dist?: string, migrateDatabase?: (url: string) => Promise<unknown> }} parts
 *   where the built programs lie and how the database is migrated
 */
export async function runKithbook(env, { dist = path.join(root, 'dist'), migrateDatabase = migrate } = {}) {
  const stopping = new globalThis.AbortController();
  onStopRequest(() => stopping.abort());
  process.stdout.on('error', () => {}); // a closed terminal must not keep the parts from being stopped
  const running = [];
  try {
    await startParts({ env, dist, migrateDatabase, running, signal: stopping.signal });
    await untilOneEnds(running, stopping.signal);
  } catch (error) {
    if (!stopping.signal.aborted) throw error; // what a stop cut short is no failure
  } finally {
    if (stopping.signal.aborted) progress('Stopping ...');
    for (const part of running.reverse()) await part.stop();
  }
}

/** Starts the parts one after the other, each put into `running` at once. Throws when `signal` is aborted meanwhile. */
async function startParts({ env, dist, migrateDatabase, running, signal }) {
  const settings = await readSettings(env);
  const databaseUrl = settings.databaseUrl ?? (await startOwnDatabase(settings.dataDir, running));
  signal.throwIfAborted();
  await migrateDatabase(databaseUrl);
  signal.throwIfAborted();

  // Libraries leave out checks that are for developers when they are told that this is production.
  const childEnvironment = { NODE_ENV: 'production', ...env, ...settings.forChildren, DATABASE_URL: databaseUrl };
  const start = (name, script) => {
    const child = startChild({ name, script: path.join(dist, script), env: childEnvironment, cwd: root });
    running.push(child);
    return child;
  };
  if (settings.demo) await loadDemo(start('the demo loader', 'prisma/seed/main.js'), running, signal);
  start('the API', 'apps/api/src/main.js');
  start('the worker', 'apps/worker/src/main.js');

  const baseUrl = `http://127.0.0.1:${settings.port}`;
  await untilHealthy(`${baseUrl}/health`, running, signal);
  console.log(`ready ${baseUrl}`);
  if (settings.demo) {
    const { welcome } = await import(pathToFileURL(path.join(dist, 'prisma/seed/welcome.js')).href);
    console.log(welcome(baseUrl));
  }
}

async function startOwnDatabase(dataDir, running) {
  const postgres = await startEmbeddedPostgres(dataDir);
  running.push({ ...postgres, name: 'PostgreSQL', ending: () => (postgres.isRunning() ? undefined : 'stopped') });
  return postgres.url('kithbook');
}

/** The loader runs to its end (it does nothing when the demo is there already) and leaves the list of running parts. */
async function loadDemo(loader, running, signal) {
  while (!loader.ending()) await sleep(POLL_MS, undefined, { signal });
  running.pop();
  if (loader.ending() !== 'exit code 0') {
    throw new LaunchError(`the demo could not be loaded (${loader.ending()}): see its messages above.`);
  }
}

async function untilHealthy(url, running, signal) {
  const giveUp = Date.now() + READY_MS;
  while (Date.now() < giveUp) {
    refuseEnded(running);
    const answer = await fetch(url, { signal }).catch(() => undefined);
    if (answer?.status === 200) return;
    await sleep(POLL_MS, undefined, { signal });
  }
  throw new LaunchError(`the API did not answer ${url} within ${READY_MS / 1000} s: see its messages above.`);
}

async function untilOneEnds(running, signal) {
  for (;;) {
    refuseEnded(running);
    await sleep(POLL_MS, undefined, { signal });
  }
}

function refuseEnded(running) {
  const ended = running.find((part) => part.ending());
  if (ended) throw new LaunchError(`${ended.name} ended by itself (${ended.ending()}): see its messages above.`);
}
