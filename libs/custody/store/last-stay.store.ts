import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Arrival, type Departure } from '../core/holder.core.js';

/** The stay of a record that began last, over or not. */
export type LastStay = {
  readonly from: Day;
  readonly to: Day | null;
  readonly arrivedBy: Arrival;
  readonly leftBy: Departure | null;
  /** When its first version was recorded. */
  readonly beganAt: Date;
};

/** The last stay of a locked record; null where nobody ever had it. */
export async function findLastStay(tx: Tx, animalId: string): Promise<LastStay | null> {
  const [row] = await tx.db.$queryRaw<
    { from: Date; to: Date | null; arrivedBy: Arrival; leftBy: Departure | null; beganAt: Date }[]
  >`
    WITH RECURSIVE version AS (
      SELECT c.id AS head, c.id, c.recorded_at FROM custody c WHERE c.animal_id = ${animalId}::uuid AND c.superseded_at IS NULL
      UNION ALL
      SELECT v.head, p.id, p.recorded_at FROM version v
      JOIN custody p ON p.animal_id = ${animalId}::uuid AND p.superseded_by = v.id
    ), history AS (SELECT head, min(recorded_at) AS began_at FROM version GROUP BY head)
    SELECT c.valid_from AS "from", c.valid_to AS "to", c.arrived_by AS "arrivedBy", c.left_by AS "leftBy", h.began_at AS "beganAt"
    FROM history h JOIN custody c ON c.id = h.head
    ORDER BY c.valid_from DESC, coalesce(c.valid_to, 'infinity'::date) DESC, h.began_at DESC, c.id DESC LIMIT 1`;
  return row === undefined ? null : { ...row, from: fromDateColumn(row.from), to: fromDateColumnOrNull(row.to) };
}
