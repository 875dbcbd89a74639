import { followLots } from '../../custody/index.js';
import { decide, type Decision, refuse } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/** What is offered was counted: while it is under way, its count stays as both sides know it. The giver has the lot, so the transfer is theirs. */
async function recounting(tx: Tx, lotId: string): Promise<Decision<null>> {
  const item = await tx.db.transferItem.findFirst({ where: { animalId: lotId, open: true } });
  if (item === null) return decide(null);
  return refuse('LOT_CHANGE_OFFERED', 'The lot is offered with the number it has.', {
    blockers: [
      { kind: 'transfer', id: item.transferId, remedy: 'Withdraw or cancel it, or wait until it was received.' },
    ],
  });
}

followLots({ recounting });
