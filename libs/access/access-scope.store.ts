import { isId, type Viewer } from '../kernel/index.js';
import { Prisma, type PrismaClient } from '../platform/prisma/index.js';
import { type Access, type AccessLevel } from './access-level.core.js';

/** Rank of a level in SQL: the lowest wins. The same order as `accessLevel`; tests/authz holds them together. */
const LEVELS: readonly AccessLevel[] = ['none', 'full', 'offered', 'guest', 'past', 'club'];

/** The day by the database's clock in UTC, as the server's: a guest's reading ends by itself. */
const TODAY = Prisma.sql`(now() AT TIME ZONE 'UTC')::date`;

/**
 * The scope every read of animals goes through: a sub-select of (animal_id, rank, reads_until) with one row for each
 * animal of `ids` that the viewer may read; join it and read the rank with `levelOfRank`. `ids` is a parameter, so that
 * the indexes of the access table are used however many animals there are. What is no id at all names no animal.
 */
export function accessScope(viewer: Viewer, ids: readonly string[]): Prisma.Sql {
  const keeperIds = viewer.keepers.map((keeper) => keeper.keeperId);
  const clubIds = [...viewer.clubIds];
  const animalIds = ids.filter(isId);
  return Prisma.sql`(
    SELECT animal_id, min(rank)::int AS rank, max(reads_until) AS reads_until FROM (
      SELECT a.animal_id,
             CASE WHEN a.relation = 'receiver' THEN 2 WHEN a.relation = 'guest' THEN 3 WHEN a.valid_to IS NULL THEN 1 ELSE 4 END AS rank,
             a.reads_until
      FROM animal_access a
      WHERE a.animal_id = ANY(${animalIds}::uuid[]) AND a.keeper_id = ANY(${keeperIds}::uuid[])
        AND (a.valid_to IS NULL OR (a.relation IN ('holder', 'owner') AND a.reads_until IS NOT NULL)
             OR (a.relation = 'guest' AND a.valid_to > ${TODAY}))
      UNION ALL
      SELECT a.animal_id, 5, NULL
      FROM access_sharing a
      WHERE a.animal_id = ANY(${animalIds}::uuid[]) AND a.valid_to IS NULL AND a.lineage_shared
        AND EXISTS (SELECT 1 FROM club_member m
                    WHERE m.keeper_id = a.keeper_id AND m.club_id = ANY(${clubIds}::uuid[]) AND m.left_on IS NULL)
    ) every_way GROUP BY animal_id)`;
}

/** The level behind a rank of `accessScope`. Throws RangeError for a number that is no rank. */
export function levelOfRank(rank: number): AccessLevel {
  const level = LEVELS[rank];
  if (level === undefined || level === 'none') throw new RangeError(`Not a rank of access: ${rank}`);
  return level;
}

/** What the viewer may read of each animal; animals that are not in the answer do not exist for the viewer. */
export async function findAccess(
  db: Pick<PrismaClient, '$queryRaw'>,
  viewer: Viewer,
  ids: readonly string[],
): Promise<Map<string, Access>> {
  if (ids.length === 0) return new Map();
  const rows = await db.$queryRaw<{ animal_id: string; rank: number; reads_until: Date | null }[]>`
    SELECT s.animal_id, s.rank, s.reads_until FROM ${accessScope(viewer, ids)} s`;
  return new Map(
    rows.map((row) => {
      const level = levelOfRank(row.rank);
      return [row.animal_id, { level, readsUntil: level === 'past' ? row.reads_until : null }];
    }),
  );
}
