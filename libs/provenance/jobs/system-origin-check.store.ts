import { v7 as uuid } from 'uuid';
import { type Tx } from '../../platform/prisma/index.js';
import { type OriginFinding, type Verdict } from '../core/origin-finding.core.js';

/** The last finding of an animal as stored. */
export type LastCheck = { readonly id: string; readonly verdict: Verdict; readonly hash: string };

export type NewCheck = { readonly animalId: string; readonly finding: OriginFinding; readonly hash: string };

/** The last finding of each animal. */
export async function findLastChecks(tx: Tx, animalIds: readonly string[]): Promise<Map<string, LastCheck>> {
  const rows = await tx.db.$queryRaw<(LastCheck & { animal_id: string })[]>`
    SELECT DISTINCT ON (animal_id) animal_id, id, verdict::text AS verdict, hash FROM origin_check
    WHERE animal_id = ANY(${[...animalIds]}::uuid[]) ORDER BY animal_id, checked_at DESC, id DESC`;
  return new Map(rows.map(({ animal_id, ...check }) => [animal_id, check]));
}

/** Stores findings that are new, in one statement; gives their ids in the same order. */
export async function insertChecks(tx: Tx, checks: readonly NewCheck[]): Promise<string[]> {
  const rows = checks.map(({ animalId, finding, hash }) => ({
    id: uuid(),
    animal_id: animalId,
    verdict: finding.verdict,
    finding,
    hash,
  }));
  await tx.db.$executeRaw`
    INSERT INTO origin_check (id, animal_id, verdict, finding, hash, checked_at)
    SELECT r.id, r.animal_id, r.verdict::origin_verdict, r.finding, r.hash, ${tx.now}
    FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb)
      AS r(id uuid, animal_id uuid, verdict text, finding jsonb, hash text)`;
  return rows.map((row) => row.id);
}

/** Notes that findings were weighed again and came out the same, so that the next sweep passes them over. */
export async function confirmChecks(tx: Tx, ids: readonly string[]): Promise<void> {
  await tx.db.originCheck.updateMany({ where: { id: { in: [...ids] } }, data: { checkedAt: tx.now } });
}

/** Animals and everything recorded below them: by parentage, by clutch, by split; a record and those merged with it are one. At most `limit`. */
export async function findLineDown(tx: Tx, animalIds: readonly string[], limit: number): Promise<string[]> {
  const rows = await tx.db.$queryRaw<{ id: string }[]>`
    WITH RECURSIVE down (id) AS (
      SELECT unnest(${[...animalIds]}::uuid[])
      UNION
      SELECT step.id FROM down d CROSS JOIN LATERAL (
        SELECT c.child_id AS id FROM parent_candidate p JOIN parentage_claim c ON c.id = p.claim_id
        WHERE p.parent_id = d.id AND c.superseded_at IS NULL
        UNION ALL
        SELECT h.animal_id FROM clutch k JOIN hatching h ON h.clutch_id = k.id WHERE k.dam_id = d.id AND h.superseded_at IS NULL
        UNION ALL
        SELECT l.counterpart_id FROM lot_change l
        WHERE l.lot_id = d.id AND l.cause IN ('split_out', 'raised_out') AND l.counterpart_id IS NOT NULL
        UNION ALL
        SELECT m.merged_id FROM record_merge m WHERE m.keep_id = d.id AND m.superseded_at IS NULL
        UNION ALL
        SELECT m.keep_id FROM record_merge m WHERE m.merged_id = d.id AND m.superseded_at IS NULL
      ) step
    ) SELECT id FROM down LIMIT ${limit}`;
  return rows.map((row) => row.id);
}

/** Animals in id order after `after` that were never weighed (`seen` false), or whose own records changed since. */
export async function findStale(
  tx: Tx,
  after: string | null,
  limit: number,
): Promise<{ readonly id: string; readonly seen: boolean }[]> {
  return tx.db.$queryRaw<{ id: string; seen: boolean }[]>`
    SELECT a.id, last.at IS NOT NULL AS seen FROM animal a
    LEFT JOIN LATERAL (SELECT max(checked_at) AS at FROM origin_check WHERE animal_id = a.id) last ON true
    WHERE (${after}::uuid IS NULL OR a.id > ${after}::uuid) AND (last.at IS NULL
      OR EXISTS (SELECT FROM animal_fact f WHERE f.animal_id = a.id AND f.kind IN ('birth', 'origin', 'acquisition')
                 AND greatest(f.recorded_at, f.superseded_at) > last.at)
      OR EXISTS (SELECT FROM parentage_claim f WHERE f.child_id = a.id AND greatest(f.recorded_at, f.superseded_at) > last.at)
      OR EXISTS (SELECT FROM hatching f WHERE f.animal_id = a.id AND greatest(f.recorded_at, f.superseded_at) > last.at)
      OR EXISTS (SELECT FROM mating f WHERE f.dam_id = a.id AND greatest(f.recorded_at, f.superseded_at) > last.at)
      OR EXISTS (SELECT FROM clutch f WHERE f.dam_id = a.id AND greatest(f.recorded_at, f.superseded_at) > last.at)
      OR EXISTS (SELECT FROM placement f WHERE f.animal_id = a.id AND greatest(f.recorded_at, f.superseded_at) > last.at)
      OR EXISTS (SELECT FROM custody f WHERE f.animal_id = a.id AND greatest(f.recorded_at, f.superseded_at) > last.at)
      OR EXISTS (SELECT FROM animal_mark f WHERE f.animal_id = a.id AND greatest(f.recorded_at, f.superseded_at) > last.at)
      OR EXISTS (SELECT FROM record_merge f WHERE f.keep_id = a.id AND greatest(f.recorded_at, f.superseded_at) > last.at)
      OR EXISTS (SELECT FROM record_merge f WHERE f.merged_id = a.id AND greatest(f.recorded_at, f.superseded_at) > last.at)
      OR EXISTS (SELECT FROM document_cover f JOIN holding_document d ON d.id = f.document_id
                 WHERE f.animal_id = a.id AND greatest(d.recorded_at, d.superseded_at) > last.at))
    ORDER BY a.id LIMIT ${limit}`;
}
