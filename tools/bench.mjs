/**
 * `npm run bench [-- PART ...] [--large]`: measures and prints tables; nothing is a gate. Parts: genetics, snapshot,
 * transfer, list, mates, expiry; all of them when none is named. Each runs in a process and, where it needs one, a database of its own: on
 * a temporary PostgreSQL server, or on the one TEST_DATABASE_URL names. `--large` adds herds of 100,000 and more.
 */
import { spawn } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { ensureBuilt } from './lib/ensure-built.mjs';
import { ensureInstalled } from './lib/ensure-installed.mjs';
import { LaunchError, launch, progress, root } from './lib/launcher.mjs';
import { onStopRequest } from './lib/stop-request.mjs';

/** Part → whether it needs a database. */
const PARTS = { genetics: false, snapshot: true, transfer: true, list: true, mates: true, expiry: true };

await launch(async () => {
  const { parts, large } = readArguments();
  await ensureInstalled();
  await ensureBuilt();
  const { databaseOf, close } = parts.some((part) => PARTS[part]) ? await openServer() : { close: async () => {} };
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'kithbook-bench-'));
  let running;
  let stopped = false;
  onStopRequest((signal) => {
    stopped = true;
    running?.kill(signal);
  });
  try {
    console.log(`${os.cpus().length} cores (${os.cpus()[0]?.model}), Node ${process.versions.node}`);
    console.log(`load of the last minute before the run: ${os.loadavg()[0].toFixed(1)}`);
    const secretFile = path.join(folder, 'auth-secret');
    fs.writeFileSync(secretFile, randomBytes(32).toString('hex'), { mode: 0o600 });
    for (const part of parts) {
      if (stopped) break;
      progress(`Measuring: ${part} ...`);
      const own = { DATA_DIR: folder, AUTH_SECRET_FILE: secretFile, PORT: '0', REDIS_URL: '' };
      const database = PARTS[part] ? await databaseOf(part) : undefined;
      try {
        running = spawn(
          process.execPath,
          ['--enable-source-maps', path.join(root, 'dist/apps/bench/src/main.js'), part, ...(large ? ['--large'] : [])],
          {
            cwd: root,
            stdio: 'inherit',
            env: {
              NODE_ENV: 'production',
              ...process.env,
              ...own,
              ...(database ? { DATABASE_URL: database.url } : {}),
            },
          },
        );
        process.exitCode ||= await new Promise((resolve, reject) => {
          running.on('error', reject);
          running.on('exit', (code) => resolve(code ?? 1));
        });
      } finally {
        await database?.drop();
      }
    }
  } finally {
    fs.rmSync(folder, { recursive: true });
    await close();
  }
});

function readArguments() {
  const usage = `usage: npm run bench [-- ${Object.keys(PARTS).join('|')} ...] [--large]`;
  let parsed;
  try {
    parsed = parseArgs({ options: { large: { type: 'boolean', default: false } }, allowPositionals: true });
  } catch (error) {
    throw new LaunchError(`${error.message.split('.')[0]}; ${usage}`);
  }
  const unknown = parsed.positionals.find((part) => !(part in PARTS));
  if (unknown !== undefined) throw new LaunchError(`there is no part "${unknown}"; ${usage}`);
  return { parts: parsed.positionals.length > 0 ? parsed.positionals : Object.keys(PARTS), large: parsed.values.large };
}

/** A server, with a migrated database from which each part gets its copy. */
async function openServer() {
  const { startTemporaryPostgres } = await import('./lib/embedded-postgres.mjs');
  const { migrate } = await import('./lib/migrate.mjs');
  const given = process.env.TEST_DATABASE_URL;
  const server = given ? undefined : await startTemporaryPostgres();
  const urlOf = (name) => {
    const url = new URL(given ?? server.url());
    url.pathname = `/${name}`;
    return url.href;
  };
  const prefix = `kithbook_bench_${process.pid}`;
  const template = `${prefix}_template`;
  const drop = (name) => run(urlOf('postgres'), `DROP DATABASE IF EXISTS ${name} WITH (FORCE)`);
  const close = async () => {
    try {
      if (given) await drop(template);
    } finally {
      await server?.stop();
    }
  };
  try {
    await migrate(urlOf(template));
    const settings = await run(
      urlOf('postgres'),
      "SELECT string_agg(name || ' = ' || setting, ', ' ORDER BY name) AS text FROM pg_settings WHERE name IN ('fsync', 'synchronous_commit', 'server_version')",
    );
    console.log(`PostgreSQL: ${settings[0].text}${given ? '' : ' (temporary server: nothing waits for the disk)'}`);
  } catch (error) {
    await close();
    throw error;
  }
  const databaseOf = async (part) => {
    const name = `${prefix}_${part}`;
    await run(urlOf('postgres'), `CREATE DATABASE ${name} TEMPLATE ${template}`);
    return { url: urlOf(name), drop: () => drop(name) };
  };
  return { databaseOf, close };
}

async function run(url, statement) {
  const { default: pg } = await import('pg');
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return (await client.query(statement)).rows;
  } finally {
    await client.end();
  }
}
