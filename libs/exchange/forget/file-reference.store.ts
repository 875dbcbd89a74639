import { type Tx } from '../../platform/prisma/index.js';

/** Every column that names a file by its hash; a contract test holds the list against the database. */
export const FILE_COLUMNS: readonly (readonly [table: string, column: string])[] = [
  ['animal_file', 'original_sha256'],
  ['animal_file', 'shared_sha256'],
  ['animal_file', 'thumb_sha256'],
  ['document_file', 'sha256'],
];

/** Those of the hashes to which a row refers. */
export async function findReferred(tx: Tx, hashes: readonly string[]): Promise<Set<string>> {
  const each = FILE_COLUMNS.map(
    ([table, column]) => `SELECT "${column}" AS sha256 FROM "${table}" WHERE "${column}" = ANY($1::text[])`,
  );
  const rows = await tx.db.$queryRawUnsafe<{ sha256: string }[]>(each.join(' UNION '), [...hashes]);
  return new Set(rows.map(({ sha256 }) => sha256));
}
