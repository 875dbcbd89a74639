import { type FactBodyOf, recordFact } from '../../animal/index.js';
import { type Day, decide, type Decision, type UncertainDay } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { custodyAfter, type GoneFate } from '../core/whereabouts.core.js';
import { lose, regain } from './custody-write.store.js';

/** What else is said with a fate. */
type Said = Omit<FactBodyOf<'fate'>, 'fate'>;

type Change = {
  readonly animalId: string;
  readonly keeperId: string;
  /** The day from which the stock book follows. */
  readonly on: Day;
  readonly when: Pick<UncertainDay, 'edtf' | 'earliest' | 'latest'>;
  readonly said: Said;
  readonly reason?: string;
};

/**
 * A locked animal or lot lives and is gone: its fate says how, and custody goes to an authority or to nobody known. Refuses as
 * `lose` does. Writes no ledger entry.
 */
export async function recordGone(
  tx: Tx,
  gone: Change & { readonly fate: GoneFate; readonly movesCustody: boolean },
): Promise<Decision<null>> {
  const { animalId, keeperId, fate, on, when, said, reason } = gone;
  if (gone.movesCustody) {
    const lost = await lose(tx, { animalId, on, ...custodyAfter(fate) });
    if (!lost.ok) return lost;
  }
  await recordFact(tx, animalId, keeperId, {
    fact: { kind: 'fate', body: { fate, ...said } },
    when,
    ...(reason === undefined ? {} : { reason }),
  });
  return decide(null);
}

/** A locked animal or lot is back, with this keeper unless another has it by the record. Refuses as `regain` does. Writes no ledger entry. */
export async function recordBack(tx: Tx, back: Change): Promise<Decision<null>> {
  const { animalId, keeperId, on, when, said } = back;
  const gained = await regain(tx, { animalId, keeperId, on });
  if (!gained.ok) return gained;
  await recordFact(tx, animalId, keeperId, { fact: { kind: 'fate', body: { fate: 'alive', ...said } }, when });
  return decide(null);
}
