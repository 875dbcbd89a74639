import { type Db } from '../../platform/prisma/index.js';

/** Days a change of who lives is kept: longer than a process that answers anybody leaves a pedigree unread. */
export const LIVING_CHANGE_DAYS = 30;

/**
 * Deletes changes of who lives that were noted more than 30 days before `slot`, and notes for each taxon up to which transaction; returns
 * how many. A reader whose snapshot is older reads everything again. What a transaction that runs still may come before stays, so that
 * whoever reads anew has seen all that was deleted.
 */
export async function deleteOldLivingChanges(db: Db, slot: Date): Promise<number> {
  const before = new Date(slot.getTime() - LIVING_CHANGE_DAYS * 86_400_000);
  const [row] = await db.$queryRaw<{ count: number }[]>`
    WITH gone AS (
      DELETE FROM living_change
      WHERE noted_at < ${before} AND transaction < pg_snapshot_xmin(pg_current_snapshot())::text::bigint
      RETURNING taxon_id, transaction
    ), noted AS (
      INSERT INTO living_pruned AS p (taxon_id, transaction)
      SELECT taxon_id, max(transaction) FROM gone GROUP BY taxon_id ORDER BY taxon_id
      ON CONFLICT (taxon_id) DO UPDATE SET transaction = greatest(p.transaction, excluded.transaction)
    )
    SELECT count(*)::int AS count FROM gone`;
  return row?.count ?? 0;
}
