import { toDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { CLOCK_KEY, GROUPS, LEFT_ON } from '../store/quarantine-sql.store.js';
import { QUARANTINE_ENDS } from './check-quarantine-end.job.js';

/**
 * Groups with animals still there whose clock was over on `day` and of which no notice was written for that end, in id
 * order after `after`: the candidates of the nightly check, which `endsReached` then judges one by one.
 */
export async function findEndCandidates(tx: Tx, day: Day, after: string | null, limit: number): Promise<string[]> {
  const rows = await tx.db.$queryRaw<{ id: string }[]>`
    WITH stay AS (
      SELECT g.id, g.days, ${CLOCK_KEY} AS clock, e.entered_on, ${LEFT_ON} AS left_on FROM ${GROUPS}
      WHERE e.entered_on <= ${toDateColumn(day)}::date AND (${after}::uuid IS NULL OR g.id > ${after}::uuid)
        AND EXISTS (SELECT FROM quarantine_entry o WHERE o.group_id = g.id AND o.left_on IS NULL)
    ), clocks AS (
      SELECT id, max(entered_on) + days AS ends_on FROM stay GROUP BY id, days, clock
      HAVING bool_or(left_on IS NULL)
    )
    SELECT DISTINCT id FROM clocks
    WHERE ends_on <= ${toDateColumn(day)}::date
      AND NOT EXISTS (SELECT FROM notice n WHERE n.dedupe_key = ${QUARANTINE_ENDS} || ':' || id || ':' || ends_on)
    ORDER BY id LIMIT ${limit}`;
  return rows.map((row) => row.id);
}
