/** Reads and checks what `npm start` takes from the environment, before anything is started. */
import { randomBytes } from 'node:crypto';
import fs from 'node:fs';
import net from 'node:net';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { dataFolder, makePrivateFolder } from './embedded-postgres.mjs';
import { LaunchError } from './launcher.mjs';

const DEFAULT_PORT = 3000;
/** The API of a launcher that was killed a moment ago still holds the port until it has stopped by itself. */
const PORT_PATIENCE_MS = 2_000;

/**
 * @param {NodeJS.ProcessEnv} env
 * @returns {Promise<{ demo: boolean, port: number, dataDir: string, databaseUrl?: string, forChildren: Record<string, string> }>}
 *   `forChildren` is what API and worker get in place of what was given. Throws LaunchError, one line with the remedy.
 */
export async function readSettings(env) {
  const databaseUrl = env.DATABASE_URL || undefined;
  const demo = !databaseUrl && !env.AUTH_SECRET_FILE;
  if (!demo && !env.AUTH_SECRET_FILE) {
    throw new LaunchError(
      'AUTH_SECRET_FILE is not set: outside the demo (DATABASE_URL is set) it must name a file with a secret of at ' +
        'least 32 characters, for example made with: openssl rand -hex 32 > auth-secret',
    );
  }
  if (env.AUTH_SECRET_FILE) requireReadable(env.AUTH_SECRET_FILE);
  const port = await freePort(env.PORT || String(DEFAULT_PORT), demo ? '127.0.0.1' : undefined);
  if (env.REDIS_URL) await requireRedis(env.REDIS_URL);
  const dataDir = dataFolder(env);
  makePrivateFolder(dataDir);
  const forChildren = {
    PORT: String(port),
    DATA_DIR: dataDir,
    AUTH_SECRET_FILE: path.resolve(env.AUTH_SECRET_FILE || demoSecretFile(dataDir)),
    KITHBOOK_DEMO: demo ? '1' : '0',
  };
  return { demo, port, dataDir, ...(databaseUrl && { databaseUrl }), forChildren };
}

function requireReadable(file) {
  try {
    fs.accessSync(file, fs.constants.R_OK);
  } catch {
    throw new LaunchError(`AUTH_SECRET_FILE ${file} cannot be read: check the path and its permissions.`);
  }
}

/** The demo signs its tokens with a secret of its own, made once and readable by this user only. */
function demoSecretFile(dataDir) {
  const file = path.join(dataDir, 'auth-secret');
  if (!fs.existsSync(file)) fs.writeFileSync(file, `${randomBytes(32).toString('hex')}\n`, { mode: 0o600 });
  return file;
}

/** The port as a number when nothing listens on it; 0 asks for any free one. */
async function freePort(text, host) {
  const port = Number(text);
  if (!/^\d+$/.test(text) || port > 65_535) throw new LaunchError(`PORT ${text} is not a port number (0 to 65535).`);
  const giveUp = Date.now() + PORT_PATIENCE_MS;
  for (;;) {
    const result = await tryListen(port, host);
    if (typeof result === 'number') return result;
    if (result.code === 'EADDRINUSE' && Date.now() < giveUp) await sleep(200);
    else if (result.code === 'EADDRINUSE') {
      throw new LaunchError(`port ${port} is taken: stop what uses it, or set PORT to another one.`);
    } else throw new LaunchError(`port ${port} cannot be used (${result.code}): set PORT to another one.`);
  }
}

function tryListen(port, host) {
  return new Promise((resolve) => {
    const probe = net.createServer();
    probe.on('error', resolve);
    probe.listen({ port, host }, () => {
      const bound = probe.address().port;
      probe.close(() => resolve(bound));
    });
  });
}

/** The queue's client would try again for ever: better one line now. */
async function requireRedis(text) {
  if (!URL.canParse(text)) throw new LaunchError(`REDIS_URL is not an address: write redis://host:port.`);
  const { hostname, port } = new URL(text);
  const socket = net.connect({ host: hostname, port: Number(port) || 6379, timeout: 5_000 });
  const error = await new Promise((resolve) => {
    socket.on('connect', () => resolve(undefined));
    socket.on('timeout', () => resolve(new Error('no answer')));
    socket.on('error', resolve);
  });
  socket.destroy();
  if (!error) return;
  const why = error.message || error.code;
  throw new LaunchError(`no Redis at ${hostname}:${port || 6379} (${why}): check REDIS_URL and that it runs.`);
}
