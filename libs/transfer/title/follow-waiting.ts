import { followLots, followMerges } from '../../custody/index.js';
import { decide, type Decision, refuse } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { readWaitingItems } from './payment.store.js';

/**
 * Two records become one only where their property waits for the same payment, or for none: with the last payment it would else move
 * on a record that is empty, or on one that was never for sale. What is split off or raised waits with its lot (`findWaitingRecords`).
 */
async function bothWait(tx: Tx, oneId: string, otherId: string): Promise<string | null> {
  const items = await readWaitingItems(tx, [oneId, otherId]);
  const [one, other] = [items.get(oneId), items.get(otherId)];
  return one?.itemId === other?.itemId ? null : (one?.transferId ?? other?.transferId ?? null);
}

const blockedBy = (id: string) => ({
  blockers: [{ kind: 'transfer', id, remedy: 'Wait until it is paid, or give back what was bought.' }],
});

followLots({
  async joining(tx, { fromId, intoId }): Promise<Decision<null>> {
    const transferId = await bothWait(tx, fromId, intoId);
    if (transferId === null) return decide(null);
    const message = 'Property of one of the lots waits for a payment that the other does not wait for.';
    return refuse('LOT_JOIN_UNPAID', message, blockedBy(transferId));
  },
});

followMerges({
  async merging(tx, { keepId, mergeId }): Promise<Decision<null>> {
    const transferId = await bothWait(tx, keepId, mergeId);
    if (transferId === null) return decide(null);
    const message = 'Property of one of the two waits for a payment that the other does not wait for.';
    return refuse('MERGE_UNPAID', message, blockedBy(transferId));
  },
});
