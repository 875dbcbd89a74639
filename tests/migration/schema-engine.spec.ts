import { execFile } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { randomBytes } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import pg from 'pg';

/**
 * The Prisma command line over tools/schema-engine.mjs, on a small project of its own. The behaviour asked for is that of
 * the native engine: Prisma CLI reference, `migrate deploy | status | diff | reset` and `db push`.
 */

const root = join(import.meta.dirname, '..', '..');
const server = process.env['TEST_DATABASE_URL'] ?? '';
const name = `kithbook_test_${process.env['KITHBOOK_TEST_RUN'] ?? 'single'}_${randomBytes(4).toString('hex')}`;
const url = Object.assign(new URL(server), { pathname: `/${name}` }).href;

/** Function body in `$$` with semicolons; a column of the catalogue's one-byte "char" is read by every describe. */
const trigger = `
CREATE FUNCTION refuse_delete() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'kept; for ever'; END; $$;
CREATE TRIGGER refuse_delete BEFORE DELETE ON "Leaf" FOR EACH STATEMENT EXECUTE FUNCTION refuse_delete();`;
const firstMigration = `CREATE TABLE "Leaf" ("id" UUID NOT NULL, "born" DATE, CONSTRAINT "Leaf_pkey" PRIMARY KEY ("id"));${trigger}`;
const schema = (extra = '') => `datasource db {
  provider = "postgresql"
}
model Leaf {
  id   String    @id @db.Uuid
  born DateTime? @db.Date
  ${extra}
}
`;

/** Each run of the command line takes 2 to 4 s to start. */
jest.setTimeout(90_000);

describe('schema engine', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'kithbook-engine-'));
    symlinkSync(join(root, 'node_modules'), join(folder, 'node_modules'));
    write(
      'prisma.config.ts',
      `export default { schema: 'schema.prisma', datasource: { url: process.env.DATABASE_URL } };\n`,
    );
    write('schema.prisma', schema());
    write('migrations/migration_lock.toml', 'provider = "postgresql"\n');
    write('migrations/1_leaf/migration.sql', firstMigration);
  });
  afterAll(async () => {
    rmSync(folder, { recursive: true });
    await query(server, `DROP DATABASE IF EXISTS ${name} WITH (FORCE)`);
  });

  it('creates the database and applies migrations with function bodies whole', async () => {
    expect(await prisma('migrate', 'deploy')).toMatchObject({ status: 0 });
    expect(await prisma('migrate', 'status')).toMatchObject({ status: 0 });
    await expect(query(url, 'DELETE FROM "Leaf"')).rejects.toThrow('kept; for ever');
  });

  it('finds no drift when there is none, drift when there is, and leaves no shadow database', async () => {
    await query(url, `INSERT INTO "Leaf" VALUES ('00000000-0000-7000-8000-000000000001')`);
    const before = await databases();
    expect(await drift()).toMatchObject({ status: 0 });
    write('schema.prisma', schema('note String?'));
    expect(await drift()).toMatchObject({ status: 2, output: expect.stringContaining('note') });
    write('schema.prisma', schema());
    expect(await databases()).toEqual(before);
    // The migrations ran on the shadow, not on the real database: its row is still there.
    expect(await query(url, 'SELECT count(*)::int AS rows FROM "Leaf"')).toEqual([{ rows: 1 }]);
  });

  it('answers a failing migration with a failure, and reports it until it is resolved', async () => {
    write('migrations/2_broken/migration.sql', 'CREATE TABLE "Half" ("id" INT); SELECT no_such_function();');
    const deploy = await prisma('migrate', 'deploy');
    expect(deploy.status).not.toBe(0);
    expect(deploy.output).toContain('no_such_function');
    expect((await prisma('migrate', 'status')).status).not.toBe(0);
    // The script went as one implicit transaction: nothing of it is left.
    expect(await query(url, `SELECT to_regclass('"Half"')::text AS half`)).toEqual([{ half: null }]);
    expect(await prisma('migrate', 'resolve', '--rolled-back', '2_broken')).toMatchObject({ status: 0 });
    rmSync(join(folder, 'migrations/2_broken'), { recursive: true });
  });

  it('resets and pushes', async () => {
    expect(await prisma('migrate', 'reset', '--force')).toMatchObject({ status: 0 });
    expect(await query(url, 'SELECT count(*)::int AS rows FROM "Leaf"')).toEqual([{ rows: 0 }]);
    write('schema.prisma', schema('note String?'));
    expect(await prisma('db', 'push')).toMatchObject({ status: 0 });
    expect(await query(url, 'SELECT note FROM "Leaf"')).toEqual([]);
  });

  it('says which server does not answer, with a failing status', async () => {
    const result = await prismaAt('postgresql://postgres@127.0.0.1:1/none', 'migrate', 'deploy');
    expect(result.status).not.toBe(0);
    expect(result.output).toContain('127.0.0.1:1');
  });

  const drift = () =>
    prisma('migrate', 'diff', '--from-migrations', 'migrations', '--to-schema', 'schema.prisma', '--exit-code');
  const prisma = (...args: string[]) => prismaAt(url, ...args);

  function prismaAt(databaseUrl: string, ...args: string[]): Promise<{ status: number; output: string }> {
    const env = {
      ...process.env,
      NODE_OPTIONS: '',
      CHECKPOINT_DISABLE: '1',
      DATABASE_URL: databaseUrl,
      PRISMA_SCHEMA_ENGINE_BINARY: join(root, 'tools', 'schema-engine.mjs'),
    };
    const cli = join(root, 'node_modules', 'prisma', 'build', 'index.js');
    return new Promise((resolve) => {
      const child = execFile(process.execPath, [cli, ...args], { cwd: folder, env }, (_, stdout, stderr) =>
        resolve({ status: child.exitCode ?? 1, output: stdout + stderr }),
      );
    });
  }

  function write(file: string, text: string): void {
    mkdirSync(join(folder, file, '..'), { recursive: true });
    writeFileSync(join(folder, file), text);
  }
});

async function databases(): Promise<unknown[]> {
  return query(
    server,
    `SELECT datname FROM pg_database WHERE datname LIKE 'prisma%' OR datname = '${name}' ORDER BY 1`,
  );
}

async function query(at: string, sql: string): Promise<unknown[]> {
  const client = new pg.Client({ connectionString: at });
  await client.connect();
  try {
    return (await client.query<Record<string, unknown>>(sql)).rows;
  } finally {
    await client.end();
  }
}
