import { v7 as uuid } from 'uuid';
import { type Tx } from '../../platform/prisma/index.js';
import { tellMarkConflict } from '../jobs/tell-mark-conflict.job.js';
import { reviewConflicts } from '../core/mark-conflict.core.js';
import { CHIP_KINDS, isSharedCode } from '../core/mark.core.js';
import { requireFewComeUpon } from './chip-tries.store.js';

/** Why a conflict is over: stored with it, and said to both sides. */
export type Resolution = 'mark_ended' | 'mark_corrected' | 'died' | 'merged' | 'fate_changed';

type Chip = { animal_id: string; value: string };
type OpenConflict = { id: string; value: string; animalAId: string; animalBId: string };

/**
 * Brings the conflicts of transponders in line with the records of some animals, after anything that may open or resolve
 * one: a mark set, ended or corrected, a death, a return, a merge, a registration. Call it last, with the animals locked and
 * written: it takes a lock on every number concerned, so that two people who record one chip at once make one conflict.
 * Opens, resolves (`because`) and has both sides told; nobody is refused anything but by `requireFewComeUpon`.
 */
export async function reviewMarkConflicts(
  tx: Tx,
  animalIds: readonly string[],
  because: Resolution = 'mark_corrected',
): Promise<void> {
  const values = await numbersOf(tx, animalIds);
  if (values.length === 0) return;
  // One lock a number, in the order of the numbers; each is held to the commit. Statements after it see what others committed.
  for (const value of values)
    await tx.db.$queryRaw`SELECT 1 AS locked FROM pg_advisory_xact_lock(hashtextextended(${`mark:${value}`}, 0))`;
  const carriers = await tx.db.$queryRaw<Chip[]>`
    SELECT DISTINCT m.animal_id, m.match_value AS value FROM animal_mark m JOIN animal a ON a.id = m.animal_id
    WHERE m.match_value = ANY(${values}) AND m.kind = ANY(${[...CHIP_KINDS]})
      AND m.superseded_at IS NULL AND m.until_edtf IS NULL AND a.fate <> 'dead' AND a.merged_into_id IS NULL`;
  const inForce: OpenConflict[] = await tx.db.markConflict.findMany({
    where: { value: { in: values }, resolvedAt: null },
    select: { id: true, value: true, animalAId: true, animalBId: true },
  });
  const { opened, resolved } = reviewConflicts(
    carriers.map(({ animal_id: animalId, value }) => ({ animalId, value })),
    inForce,
  );
  if (resolved.length > 0)
    await tx.db.markConflict.updateMany({
      where: { id: { in: resolved.map(({ id }) => id) } },
      data: { resolvedAt: tx.now, resolvedBecause: because },
    });
  const rows = opened.map((pair) => ({
    id: uuid(),
    ...pair,
    sharedCode: isSharedCode(pair.value),
    openedAt: tx.now,
  }));
  if (rows.length > 0) {
    await tx.db.markConflict.createMany({ data: rows });
    await requireFewComeUpon(tx);
  }
  for (const { id } of [...resolved, ...rows]) await tx.outbox.send(tellMarkConflict, { conflictId: id });
}

/** Chip numbers that the animals carry, or about which they are in conflict, in order. */
async function numbersOf(tx: Tx, animalIds: readonly string[]): Promise<string[]> {
  const rows = await tx.db.$queryRaw<{ value: string }[]>`
    SELECT m.match_value AS value FROM animal_mark m
    WHERE m.animal_id = ANY(${[...animalIds]}::uuid[]) AND m.kind = ANY(${[...CHIP_KINDS]})
      AND m.match_value IS NOT NULL AND m.superseded_at IS NULL AND m.until_edtf IS NULL
    UNION
    SELECT c.value FROM mark_conflict c
    WHERE c.resolved_at IS NULL
      AND (c.animal_a_id = ANY(${[...animalIds]}::uuid[]) OR c.animal_b_id = ANY(${[...animalIds]}::uuid[]))
    ORDER BY 1`;
  return rows.map(({ value }) => value);
}

/** The numbers over which animals are in conflict now, by animal. */
export async function openConflicts(
  db: Pick<Tx['db'], 'markConflict'>,
  animalIds: readonly string[],
): Promise<Map<string, { id: string; value: string; sharedCode: boolean; openedAt: Date }[]>> {
  const ids = [...animalIds];
  const rows = await db.markConflict.findMany({
    where: { resolvedAt: null, OR: [{ animalAId: { in: ids } }, { animalBId: { in: ids } }] },
    orderBy: [{ openedAt: 'asc' }, { id: 'asc' }],
  });
  const found = new Map<string, { id: string; value: string; sharedCode: boolean; openedAt: Date }[]>();
  for (const { id, value, sharedCode, openedAt, animalAId, animalBId } of rows)
    for (const animalId of [animalAId, animalBId])
      if (ids.includes(animalId))
        found.set(animalId, [...(found.get(animalId) ?? []), { id, value, sharedCode, openedAt }]);
  return found;
}
