import { fromDateColumn, toDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { PHOTOS_DUE } from './check-photos-due.job.js';

/** A photo documentation whose next session has come due, with the keeper who has the animal. */
export type DuePhotos = {
  readonly markId: string;
  readonly animalId: string;
  readonly registerNumber: string;
  readonly keeperId: string;
  readonly fixedView: string | null;
  readonly intervalDays: number;
  readonly lastTakenOn: Day;
  readonly dueOn: Day;
  readonly key: string;
};

/**
 * Photo documentations in force, of living animals a keeper has, whose next session was due on `day` or before and of which that
 * keeper was not told for that day, in the order of marks after `after`. Without a first session nothing is due.
 */
export async function findDuePhotos(tx: Tx, day: Day, after: string | null, limit: number): Promise<DuePhotos[]> {
  const rows = await tx.db.$queryRaw<(Omit<DuePhotos, 'lastTakenOn' | 'dueOn'> & { lastTakenOn: Date; dueOn: Date })[]>`
    SELECT * FROM (
      SELECT m.series_id AS "markId", m.animal_id AS "animalId", a.register_number AS "registerNumber", x.keeper_id AS "keeperId",
             m.fixed_view AS "fixedView", m.interval_days AS "intervalDays", s.last AS "lastTakenOn", s.last + m.interval_days AS "dueOn",
             ${PHOTOS_DUE} || ':' || m.series_id || ':' || (s.last + m.interval_days) || ':' || x.keeper_id AS key
      FROM animal_mark m
      JOIN animal a ON a.id = m.animal_id AND a.fate = 'alive' AND a.merged_into_id IS NULL
      JOIN animal_access x ON x.animal_id = a.id AND x.relation = 'holder' AND x.valid_to IS NULL
      JOIN LATERAL (SELECT max(p.taken_on) AS last FROM photo_session p
                    WHERE p.mark_id = m.series_id AND p.superseded_at IS NULL) s ON s.last IS NOT NULL
      WHERE m.kind = 'photo_documentation' AND m.superseded_at IS NULL AND m.end_cause IS NULL AND m.interval_days IS NOT NULL
        AND (${after}::uuid IS NULL OR m.series_id > ${after}::uuid)) due
    WHERE "dueOn" <= ${toDateColumn(day)}::date AND NOT EXISTS (SELECT FROM notice n WHERE n.dedupe_key = due.key)
    ORDER BY "markId" LIMIT ${limit}`;
  return rows.map((row) => ({
    ...row,
    lastTakenOn: fromDateColumn(row.lastTakenOn),
    dueOn: fromDateColumn(row.dueOn),
  }));
}
