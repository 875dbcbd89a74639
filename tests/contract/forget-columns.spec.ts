import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { z } from 'zod';
import { exportDocument } from '../../libs/exchange/index.js';
import { FORGET_COLUMNS } from '../../libs/exchange/forget/columns/forget-columns.core.js';
import { FILE_COLUMNS } from '../../libs/exchange/forget/file-reference.store.js';
import { DELETIONS, rowsOf } from '../../libs/exchange/forget/forget-rows.store.js';
import { createPrismaClient, type PrismaClient } from '../../libs/platform/prisma/index.js';
import { createTestDatabase, type TestDatabase } from '../support/template-db.js';

type Row = { table: string; column: string; type: string };

/** The part of JSON Schema a path is followed through. */
type Node = { properties?: Record<string, Node>; items?: Node; anyOf?: Node[] };

/** Whether a path such as `transfers[].message` leads to something in the schema. */
function isThere(schema: Node, path: string): boolean {
  let nodes = [schema];
  for (const part of path.split('.')) {
    const name = part.replace('[]', '');
    nodes = nodes.flatMap(open).flatMap((node) => node.properties?.[name] ?? []);
    if (part.endsWith('[]')) nodes = nodes.flatMap(open).flatMap((node) => node.items ?? []);
  }
  return nodes.length > 0;
}
const open = (node: Node): Node[] => [node, ...(node.anyOf ?? []).flatMap(open)];

const listed = Object.entries(FORGET_COLUMNS).flatMap(([table, columns]) =>
  Object.entries(columns).map(([name, column]) => ({ table, name, column })),
);

describe('the list of columns that is kept for forgetting people', () => {
  let database: TestDatabase;
  let client: PrismaClient;
  let rows: Row[];
  beforeAll(async () => {
    database = await createTestDatabase();
    client = createPrismaClient(database.url, 1);
    rows = await client.$queryRaw<Row[]>`
      SELECT c.table_name::text AS "table", c.column_name::text AS "column", c.data_type::text AS type
      FROM information_schema.columns c JOIN information_schema.tables t USING (table_schema, table_name)
      WHERE c.table_schema = 'public' AND t.table_type = 'BASE TABLE' AND c.table_name <> '_prisma_migrations'
      ORDER BY 1, 2`;
  });
  afterAll(async () => {
    await client.$disconnect();
    await database.drop();
  });

  it('has an entry for every column that can hold what somebody wrote, and for none that is not there', () => {
    const writable = /^(text|json|jsonb|bytea|character varying|inet|xml|ARRAY)$/;
    const known = new Set(listed.map(({ table, name }) => `${table}.${name}`));
    const there = new Set(rows.map(({ table, column }) => `${table}.${column}`));
    const free = rows.filter(({ type }) => writable.test(type)).map(({ table, column }) => `${table}.${column}`);
    expect(free.length).toBeGreaterThan(100);
    expect(free.filter((name) => !known.has(name))).toEqual([]);
    expect([...known].filter((name) => !there.has(name))).toEqual([]);
  });

  it('deletes the rows of every table whose columns go with them, and says which rows', () => {
    const deleted = new Set(DELETIONS.map(([table, set]) => `${table} ${set}`));
    const going = listed.flatMap(({ table, column }) => (column.act === 'delete' ? `${table} ${column.rows}` : []));
    expect(going.filter((each) => !deleted.has(each))).toEqual([]);
    for (const { table, column } of listed)
      if (column.act !== 'keep') expect(rowsOf(table, column.rows)).toMatch(/t\./);
  });

  it('says of every column that goes where its content is in the export, and it is there', () => {
    const schema = z.toJSONSchema(exportDocument, { unrepresentable: 'any' });
    const paths = listed.flatMap(({ table, name, column }) =>
      column.act === 'keep' || typeof column.out !== 'string' ? [] : [[`${table}.${name}`, column.out] as const],
    );
    expect(paths.length).toBeGreaterThan(40);
    expect(paths.filter(([, path]) => !isThere(schema as Node, path))).toEqual([]);
    expect(isThere(schema as Node, 'transfers[].nothing')).toBe(false);
  });

  it('knows every column that names a file by its hash', () => {
    const named = rows.filter(({ column }) => /sha256$/.test(column)).map(({ table, column }) => `${table}.${column}`);
    expect(FILE_COLUMNS.map((each) => each.join('.')).sort()).toEqual(named.sort());
  });
});
