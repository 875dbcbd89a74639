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
  loanTerms: Prisma.LoanTermsCreateManyInput;
  lotChange: Prisma.LotChangeCreateManyInput;
  ownership: Prisma.OwnershipCreateManyInput;
  ownershipShare: Prisma.OwnershipShareCreateManyInput;
  parentageClaim: Prisma.ParentageClaimCreateManyInput;
  parentCandidate: Prisma.ParentCandidateCreateManyInput;
  quarantineEntry: Prisma.QuarantineEntryCreateManyInput;
  quarantineGroup: Prisma.QuarantineGroupCreateManyInput;
  transfer: Prisma.TransferCreateManyInput;
  transferCondition: Prisma.TransferConditionCreateManyInput;
  transferEgg: Prisma.TransferEggCreateManyInput;
  transferInstalment: Prisma.TransferInstalmentCreateManyInput;
  transferItem: Prisma.TransferItemCreateManyInput;
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
  const onConflict = options.skipDuplicates === true ? Prisma.sql`ON CONFLICT DO NOTHING` : Prisma.empty;
  for (let at = 0; at < rows.length; at += ROWS) {
    await db.$executeRaw`${inserting(table, rows.slice(at, at + ROWS))} ${onConflict}`;
  }
}

/** Rows of one table as part of a larger statement; nothing of that table when there are none. */
export type Insertion = { [T in keyof Rows]: { readonly into: T; readonly rows: readonly Rows[T][] } }[keyof Rows];

/** Inserts a few rows of each of several tables in one statement, which may refer to each other in any order. */
export async function insertTogether(db: Db, insertions: readonly Insertion[]): Promise<void> {
  const parts = insertions.filter(({ rows }) => rows.length > 0).map(({ into, rows }) => inserting(into, rows));
  const named = parts.map((part, i) => Prisma.sql`${Prisma.raw(`part_${i}`)} AS (${part})`);
  if (named.length > 0) await db.$executeRaw`WITH ${Prisma.join(named)} SELECT 1`;
}

/** The statement that inserts rows, which all have the same keys: at least one. */
export function inserting<T extends keyof Rows>(table: T, rows: readonly Rows[T][]): Prisma.Sql {
  const name = Prisma.raw(`"${snakeCase(table)}"`);
  const columns = Prisma.raw(
    Object.keys(rows[0] ?? {})
      .map((key) => `"${snakeCase(key)}"`)
      .join(', '),
  );
  const json = JSON.stringify(rows.map(toColumns));
  return Prisma.sql`
    INSERT INTO ${name} (${columns})
    SELECT ${columns} FROM jsonb_populate_recordset(NULL::${name}, ${json}::jsonb)`;
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
