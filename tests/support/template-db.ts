import { createHash, randomBytes } from 'node:crypto';
import { execFile } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { promisify } from 'node:util';
import pg from 'pg';

/**
 * Databases for tests, on the server named by TEST_DATABASE_URL and nowhere else. One database is migrated and kept as
 * the template of its migrations; every test file gets a copy, which takes a fraction of a second.
 */

const root = join(import.meta.dirname, '..', '..');
const TEMPLATE_PREFIX = 'kithbook_template_';
/** Any number, the same for all: PostgreSQL advisory lock under which a template is made. */
const TEMPLATE_LOCK = 5_041_507;

/** One test file's own database. `drop` also cuts connections that were left open. */
export type TestDatabase = { readonly url: string; drop(): Promise<void> };

/** Copies the migrated template to a new database. Call `drop` in `afterAll`. */
export async function createTestDatabase(): Promise<TestDatabase> {
  const name = `${testDatabasePrefix()}${randomBytes(6).toString('hex')}`;
  await onServer(async (client) => {
    await copyTemplate(client, name);
    // What a test writes need not outlive a crash of the server: no commit waits for the disk.
    await client.query(`ALTER DATABASE ${name} SET synchronous_commit = off`);
  });
  return {
    url: databaseUrl(name),
    drop: () => onServer(async (client) => void (await client.query(`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`))),
  };
}

/** Somebody at work on other migrations may drop the template between the look and the copy: then it is made anew. */
async function copyTemplate(client: pg.Client, name: string): Promise<void> {
  for (let tries = 1; ; tries += 1) {
    await ensureTemplate();
    try {
      await client.query(`CREATE DATABASE ${name} TEMPLATE ${templateName()}`);
      return;
    } catch (error) {
      if ((error as { code?: string }).code !== '3D000' || tries === 5) throw error;
    }
  }
}

/** Makes the migrated template when the server does not have it yet, and drops those of other migrations. */
export async function ensureTemplate(): Promise<void> {
  const template = templateName();
  await onServer(async (client) => {
    if (await exists(client, template)) return;
    await client.query('SELECT pg_advisory_lock($1)', [TEMPLATE_LOCK]);
    if (await exists(client, template)) return; // another process made it while this one waited
    const partial = `${template}_partial`;
    await client.query(`DROP DATABASE IF EXISTS ${partial} WITH (FORCE)`);
    await client.query(`CREATE DATABASE ${partial}`);
    await migrate(databaseUrl(partial));
    await client.query(`ALTER DATABASE ${partial} RENAME TO ${template}`);
    await dropOtherTemplates(client, template);
  });
}

/** Jest's global set-up names the run; its tear-down drops what a crashed file left under this prefix. */
function testDatabasePrefix(): string {
  return `kithbook_test_${process.env['KITHBOOK_TEST_RUN'] ?? 'single'}_`;
}

function templateName(): string {
  const folder = join(root, 'prisma', 'migrations');
  const hash = createHash('sha256');
  for (const entry of readdirSync(folder, { withFileTypes: true }).sort((a, b) => (a.name < b.name ? -1 : 1))) {
    if (!entry.isDirectory()) continue;
    hash.update(`${entry.name}\0`).update(readFileSync(join(folder, entry.name, 'migration.sql')));
  }
  return `${TEMPLATE_PREFIX}${hash.digest('hex').slice(0, 16)}`;
}

/** In a child process: the Prisma command line belongs to the launchers, not into Jest's module registry. */
async function migrate(url: string): Promise<void> {
  const env = { ...process.env, DATABASE_URL: url, NODE_OPTIONS: '' };
  await promisify(execFile)(process.execPath, [join(root, 'tools', 'migrate.mjs')], { env });
}

async function exists(client: pg.Client, name: string): Promise<boolean> {
  const { rowCount } = await client.query('SELECT 1 FROM pg_database WHERE datname = $1', [name]);
  return rowCount === 1;
}

async function dropOtherTemplates(client: pg.Client, keep: string): Promise<void> {
  const { rows } = await client.query<{ datname: string }>(
    'SELECT datname FROM pg_database WHERE starts_with(datname, $1) AND datname <> $2',
    [TEMPLATE_PREFIX, keep],
  );
  for (const { datname } of rows) {
    // Without FORCE: one that is being copied right now stays for the next time.
    await client.query(`DROP DATABASE IF EXISTS ${datname}`).catch(() => undefined);
  }
}

async function onServer<T>(work: (client: pg.Client) => Promise<T>): Promise<T> {
  const client = new pg.Client({ connectionString: serverUrl() });
  await client.connect();
  try {
    return await work(client);
  } finally {
    await client.end();
  }
}

function databaseUrl(name: string): string {
  const url = new URL(serverUrl());
  url.pathname = `/${name}`;
  return url.href;
}

function serverUrl(): string {
  const url = process.env['TEST_DATABASE_URL'];
  if (!url)
    throw new Error('TEST_DATABASE_URL is not set: run `npm test`, or name a PostgreSQL server for tests only.');
  return url;
}
