import {
  type Fate,
  fateBefore,
  type FateVersion,
  insertInPlaceOf,
  readVersions,
  recordFact,
  type StockRecord,
} from '../../animal/index.js';
import { type Day, decide, type Decision, exactDay } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { correctDeathDay, end } from './custody-write.store.js';

type Corrected = {
  /** As it was before the correction. */
  readonly lot: StockRecord;
  readonly left: number;
  readonly lastOn: Day;
  /** The last day of its last stay. */
  readonly endedOn: Day | null;
  readonly keeperId: string;
  readonly reason: string;
};

/**
 * Fate and stay of a locked lot follow its corrected count: one that is used up by a death has died out on the last day its count
 * changed, one that is not lives on where it was. Gives its fate, and the day it died out. Refuses as `end` and `correctDeathDay`.
 */
export async function followCount(
  tx: Tx,
  { lot, left, lastOn, endedOn, keeperId, reason }: Corrected,
): Promise<Decision<{ fate: Fate; endedOn: Day | null }>> {
  const { id, fate } = lot;
  if (fate !== 'dead') {
    if (left > 0 || lot.count === 0) return decide({ fate, endedOn: null });
    const ended = await end(tx, { animalId: id, on: lastOn, leftBy: 'died' });
    if (!ended.ok) return ended;
    await recordFact(tx, id, keeperId, {
      fact: { kind: 'fate', body: { fate: 'dead' } },
      when: exactDay(lastOn),
      reason,
    });
    return decide({ fate: 'dead', endedOn: lastOn });
  }
  if (left === 0 && endedOn === lastOn) return decide({ fate, endedOn });
  const moved = await correctDeathDay(tx, id, left === 0 ? lastOn : null);
  if (!moved.ok) return moved;
  const facts = await readVersions(tx, id);
  const death = facts.findLast((each): each is FateVersion => each.kind === 'fate' && each.supersededAt === null);
  if (death === undefined) throw new Error('A lot is dead and no fact says so.');
  const before = left === 0 ? null : fateBefore(facts, death);
  const now =
    left === 0
      ? { body: death.body, when: exactDay(lastOn) }
      : { body: before?.body ?? { fate: 'alive' as const }, when: before?.when ?? null };
  const restored = before === null ? {} : { restoresId: before.id };
  const fact = { kind: 'fate' as const, body: now.body };
  await insertInPlaceOf(tx, id, keeperId, { fact, when: now.when, reason, ...restored }, [death.id]);
  return decide({ fate: now.body.fate, endedOn: left === 0 ? lastOn : null });
}
