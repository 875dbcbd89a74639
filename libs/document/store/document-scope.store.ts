import { type Viewer } from '../../kernel/index.js';
import { Prisma, type PrismaClient } from '../../platform/prisma/index.js';
import { type DocumentSight } from '../core/document.core.js';

/**
 * The scope every read of documents goes through: a sub-select of (document_id, own) with one row for each document of
 * `ids` that the viewer may read; `own` is false for one that came along with an animal. The same rule as `documentSight`;
 * tests/authz holds them together.
 */
export function documentScope(viewer: Viewer, ids: readonly string[]): Prisma.Sql {
  const keeperIds = viewer.keepers.map((keeper) => keeper.keeperId);
  return Prisma.sql`(
    SELECT document_id, bool_or(own) AS own FROM (
      SELECT d.id AS document_id, true AS own FROM holding_document d
      WHERE d.id = ANY(${[...ids]}::uuid[]) AND d.keeper_id = ANY(${keeperIds}::uuid[])
      UNION ALL
      SELECT c.document_id, false FROM document_cover c
      JOIN animal_access a ON a.animal_id = c.animal_id
      WHERE c.document_id = ANY(${[...ids]}::uuid[]) AND a.keeper_id = ANY(${keeperIds}::uuid[])
        AND a.relation IN ('holder', 'owner') AND a.valid_to IS NULL
    ) every_way GROUP BY document_id)`;
}

/** What the viewer is to each document; those that are not in the answer do not exist for the viewer. */
export async function findSight(
  db: Pick<PrismaClient, '$queryRaw'>,
  viewer: Viewer,
  ids: readonly string[],
): Promise<Map<string, Exclude<DocumentSight, 'none'>>> {
  if (ids.length === 0) return new Map();
  const rows = await db.$queryRaw<{ document_id: string; own: boolean }[]>`
    SELECT s.document_id, s.own FROM ${documentScope(viewer, ids)} s`;
  return new Map(rows.map((row) => [row.document_id, row.own ? 'own' : 'with_animal']));
}
