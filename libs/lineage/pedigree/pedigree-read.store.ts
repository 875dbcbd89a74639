import pg from 'pg';
import { type ParentRole } from '../claims/parentage.core.js';
import { PedigreeBuilder, type PedigreeParts } from './pedigree-builder.core.js';

/** What a thread is asked for. */
export type LoadPedigreeInput = { readonly databaseUrl: string; readonly taxonId: string };

/** A whole pedigree, computed, and what it is as of. */
export type LoadedPedigree = { readonly parts: PedigreeParts; readonly version: bigint; readonly seen: string };

/** Leaves values as the server sends them. */
const AS_TEXT = { getTypeParser: () => (value: string) => value } as pg.CustomTypesConfig;
/** Rows in memory at a time. */
const BATCH = 10_000;

/**
 * Reads the pedigree of a taxon on a connection of its own and computes it: work for a thread (see `load-pedigree.ts`).
 * Everything is read under one snapshot of the database, through cursors, so that memory holds the pedigree and one batch.
 * Numbers use all of the lineage, whoever asks; what a viewer may see is decided where it is shown.
 */
export async function loadPedigree({ databaseUrl, taxonId }: LoadPedigreeInput): Promise<LoadedPedigree> {
  const url = new URL(databaseUrl);
  const schema = url.searchParams.get('schema');
  url.searchParams.delete('schema'); // Prisma's name for the search path
  const client = new pg.Client({
    connectionString: url.href,
    ...(schema === null ? {} : { options: `-c search_path=${schema}` }),
  });
  await client.connect();
  try {
    await client.query('BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY');
    const { rows } = await client.query<{ version: string; seen: string; animals: string }>(
      `SELECT COALESCE((SELECT version FROM lineage_population WHERE taxon_id = $1), 0) AS version,
              pg_current_snapshot()::text AS seen, (SELECT count(*) FROM animal WHERE taxon_id = $1) AS animals`,
      [taxonId],
    );
    const { version, seen, animals } = rows[0] ?? { version: '0', seen: '', animals: '0' };
    const builder = new PedigreeBuilder(Number(animals));
    await eachRow<[string, string, string | null]>(
      client,
      `SELECT id, (CASE WHEN kind = 'individual' AND fate = 'alive' THEN 1 ELSE 0 END) + (CASE WHEN declared_founder THEN 2 ELSE 0 END), merged_into_id
       FROM animal WHERE taxon_id = '${asUuid(taxonId)}' ORDER BY id`,
      ([id, flags, mergedIntoId]) =>
        builder.addRecord({
          id,
          alive: (Number(flags) & 1) !== 0,
          declaredFounder: (Number(flags) & 2) !== 0,
          mergedIntoId,
        }),
    );
    await eachRow<[string, ParentRole, string, string | null, string | null]>(
      client,
      `SELECT c.child_id, c.role, c.without_sire, p.parent_id, p.probability
       FROM parentage_claim c JOIN animal a ON a.id = c.child_id LEFT JOIN parent_candidate p ON p.claim_id = c.id
       WHERE a.taxon_id = '${asUuid(taxonId)}' AND c.superseded_at IS NULL`,
      ([childId, role, withoutSire, parentId, probability]) =>
        builder.addClaim({
          childId,
          role,
          withoutSire: withoutSire === 't',
          parentId,
          probability: Number(probability),
        }),
    );
    await client.query('COMMIT');
    return { parts: builder.finish(), version: BigInt(version), seen };
  } finally {
    await client.end();
  }
}

/** Rows of a statement as the text the server sends, one at a time. */
async function eachRow<Row extends (string | null)[]>(
  client: pg.Client,
  statement: string,
  use: (row: Row) => void,
): Promise<void> {
  await client.query(`DECLARE rows NO SCROLL CURSOR FOR ${statement}`);
  for (;;) {
    const { rows } = await client.query<Row>({ text: `FETCH ${BATCH} FROM rows`, rowMode: 'array', types: AS_TEXT });
    for (const row of rows) use(row);
    if (rows.length < BATCH) break;
  }
  await client.query('CLOSE rows');
}

/** A cursor's statement takes no parameters. Throws RangeError for anything but a UUID. */
function asUuid(text: string): string {
  if (!/^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i.test(text)) throw new RangeError(`"${text}" is not a UUID.`);
  return text;
}
