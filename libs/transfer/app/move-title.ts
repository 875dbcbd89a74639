import { currentOwners, type OwnerShare, sameHolder, setOwners } from '../../custody/index.js';
import { type Day, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { sharesAfter } from '../core/shares-after.core.js';
import { sharesAfterPart } from '../core/title.core.js';
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
  const owners = (await currentOwners(tx, [animalId])).get(animalId) ?? [];
  const giver: OwnerShare['owner'] = { kind: 'keeper', keeperId: move.giverId };
  if (share === null)
    return setOwners(tx, {
      animalId,
      from: on,
      shares: sharesAfter<OwnerShare['owner']>(owners, giver, receiver, sameHolder),
    });
  const after = sharesAfterPart<OwnerShare['owner']>(owners, giver, receiver, share, sameHolder);
  return after.ok ? setOwners(tx, { animalId, from: on, shares: after.value }) : after;
}
