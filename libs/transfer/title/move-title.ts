import { changeOwners, type OwnerShare, sameHolder } from '../../custody/index.js';
import { type Day, decide, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { sharesAfter } from './shares-after.core.js';
import { sharesAfterPart } from './title.core.js';
import { type Receiver, type Share } from '../core/transfer.core.js';

/** The giver's property of one locked record, or a share of the whole, goes to the receiver on a day. */
export async function moveTitle(
  tx: Tx,
  move: {
    readonly animalId: string;
    readonly giverId: string;
    readonly receiver: Receiver;
    readonly share: Share | null;
    readonly on: Day;
  },
): Promise<Decision<null>> {
  const { animalId, receiver, share, on } = move;
  const giver: OwnerShare['owner'] = { kind: 'keeper', keeperId: move.giverId };
  return changeOwners(tx, {
    animalId,
    from: on,
    next: (owners) =>
      share === null
        ? decide(sharesAfter<OwnerShare['owner']>(owners, giver, receiver, sameHolder))
        : sharesAfterPart<OwnerShare['owner']>(owners, giver, receiver, share, sameHolder),
  });
}
