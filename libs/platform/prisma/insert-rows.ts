import { type Db, Prisma } from './client.js';

/** Rows a statement, so that its one parameter stays within a few megabytes. */
const ROWS = 10_000;

/** Tables that are written many rows at a time, with what a row holds. */
type Rows = {
  animal: Prisma.AnimalCreateManyInput;
  animalAccess: Prisma.AnimalAccessCreateManyInput;
  animalFact: Prisma.AnimalFactCreateManyInput;
  animalMark: Prisma.AnimalMarkCreateManyInput;
  custody: Prisma.CustodyCreateManyInput;
  lineageChange: Prisma.LineageChangeCreateManyInput;
  lotChange: Prisma.LotChangeCreateManyInput;
  ownership: Prisma.OwnershipCreateManyInput;
  ownershipShare: Prisma.OwnershipShareCreateManyInput;
  parentageClaim: Prisma.ParentageClaimCreateManyInput;
  parentCandidate: Prisma.ParentCandidateCreateManyInput;
};

/**
 * Inserts many rows of one table in one statement, ten thousand at a time. All rows of a call have the same keys; columns
 * that are left out get their defaults. `skipDuplicates` passes over rows that meet a unique constraint. The same as
 * Prisma's `createMany`, which spends milliseconds of computing on every row: here the rows go as one JSON parameter.
 */
export async function insertRows<T extends keyof Rows>(
  db: Db,
  table: T,
  rows: readonly Rows[T][],
  options: { skipDuplicates?: boolean } = {},
): Promise<void> {
  const [first] = rows;
  if (first === undefined) return;
  const name = Prisma.raw(`"${snakeCase(table)}"`);
  const columns = Prisma.raw(
    Object.keys(first)
      .map((key) => `"${snakeCase(key)}"`)
      .join(', '),
  );
  const onConflict = options.skipDuplicates === true ? Prisma.sql`ON CONFLICT DO NOTHING` : Prisma.empty;
  for (let at = 0; at < rows.length; at += ROWS) {
    const json = JSON.stringify(rows.slice(at, at + ROWS).map(toColumns));
    await db.$executeRaw`
      INSERT INTO ${name} (${columns})
      SELECT ${columns} FROM jsonb_populate_recordset(NULL::${name}, ${json}::jsonb) ${onConflict}`;
  }
}

function toColumns(row: object): object {
  return Object.fromEntries(
    Object.entries(row).map(([key, value]) => [snakeCase(key), typeof value === 'bigint' ? String(value) : value]),
  );
}

/** Field names become column names this way in every `@map` of the schema. */
function snakeCase(name: string): string {
  return name.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`);
}
