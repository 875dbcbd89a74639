import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import {
  BUG_IF_HIT,
  CONSTRAINT_RULES,
  createPrismaClient,
  type PrismaClient,
} from '../../libs/platform/prisma/index.js';
import { createTestDatabase, type TestDatabase } from '../support/template-db.js';

describe('every constraint has a sentence for people or is listed as a bug', () => {
  let database: TestDatabase;
  let client: PrismaClient;
  beforeAll(async () => {
    database = await createTestDatabase();
    client = createPrismaClient(database.url, 1);
  });
  afterAll(async () => {
    await client.$disconnect();
    await database.drop();
  });

  it('no more and no fewer than the database has', async () => {
    const rows = await client.$queryRaw<{ name: string }[]>`
      SELECT c.conname AS name FROM pg_constraint c JOIN pg_namespace n ON n.oid = c.connamespace
        WHERE n.nspname = 'public' AND c.contype IN ('c', 'u', 'x', 't')
      UNION
      SELECT i.relname FROM pg_index x JOIN pg_class i ON i.oid = x.indexrelid JOIN pg_namespace n ON n.oid = i.relnamespace
        WHERE n.nspname = 'public' AND x.indisunique AND NOT x.indisprimary
          AND x.indrelid <> to_regclass('_prisma_migrations')`;
    // The two triggers that guard one rule report it under its name, and the append-only triggers are no constraints.
    const inDatabase = rows.map(({ name }) => (name.startsWith('lot_balances_') ? 'lot_balances' : name));
    const known = [...Object.keys(CONSTRAINT_RULES), ...BUG_IF_HIT].filter((name) => name !== 'append_only');
    expect([...new Set(inDatabase)].sort()).toEqual([...known].sort());
  });

  it('CONSTRAINTS.md tells about each hand-written one', () => {
    const root = join(import.meta.dirname, '..', '..');
    const page = readFileSync(join(root, 'prisma', 'CONSTRAINTS.md'), 'utf8');
    const folder = join(root, 'prisma', 'migrations');
    const handWritten = readdirSync(folder, { withFileTypes: true })
      .filter((entry) => entry.isDirectory())
      .map(
        (entry) =>
          readFileSync(join(folder, entry.name, 'migration.sql'), 'utf8').split('-- Hand-written part')[1] ?? '',
      )
      .join('\n');
    const names = [...handWritten.matchAll(/(?:ADD CONSTRAINT|CREATE UNIQUE INDEX|CONSTRAINT = (?=')) ?'?(\w+)/g)].map(
      ([, name]) => name,
    );
    expect(names.length).toBeGreaterThan(20);
    for (const name of names) expect(page).toContain(`\`${name ?? ''}\``);
  });
});
