import { endShares, landEggs, type ShareSubject } from '../../breeding/index.js';
import { type Day, decide, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { landingOf, landsWithReceiver } from './transfer-eggs.core.js';
import { type Transfer, type TransferEgg } from '../core/transfer.core.js';
import { saveEggs, sharedBy } from './transfer-eggs.store.js';
import { shareWithReceiver } from '../app/step-command.js';

/** Writes how eggs of a transfer arrived, and who has them from that day on. */
export async function settleEggs(
  tx: Tx,
  { id, fromKeeperId: giverId, receiver }: Transfer,
  eggs: readonly TransferEgg[],
  on: Day,
): Promise<Decision<null>> {
  if (eggs.length === 0) return decide(null);
  const receiverId = receiver.kind === 'keeper' ? receiver.keeperId : null;
  const landed = eggs.flatMap((egg) => (egg.arrival === null ? [] : [{ ...egg, to: landingOf(egg.arrival) }]));
  const settled = await landEggs(tx, { id, giverId, receiverId, on }, landed);
  if (settled.ok) await saveEggs(tx, id, eggs);
  return settled;
}

/**
 * Brings what is shared with the receiver up to the receipt. Once everything is settled, what came with animals and eggs that
 * did not stay with the receiver is shared no more.
 */
export async function shareWhatArrived(tx: Tx, transfer: Transfer): Promise<void> {
  await shareWithReceiver(tx, transfer);
  if (transfer.state !== 'received') return;
  await endShares(tx, transfer.id, sharedInVain(transfer));
}

/** What came with animals and eggs of a received transfer none of which stayed with the receiver. */
export function sharedInVain({ items, eggs }: Pick<Transfer, 'items' | 'eggs'>): ShareSubject[] {
  const stays = {
    items: items.filter(({ arrivals }) => arrivals.some(({ state }) => state !== 'missing' && state !== 'refused')),
    eggs: eggs.filter(({ arrival }) => arrival !== null && landsWithReceiver(arrival)),
  };
  return sharedWithout({ items, eggs }, stays);
}

/** What goes along with the animals and eggs of a transfer, and with none of these. */
export function sharedWithout(all: Pick<Transfer, 'items' | 'eggs'>, kept: typeof all): ShareSubject[] {
  const stays = sharedBy(kept).map((subject) => JSON.stringify(subject));
  return sharedBy(all).filter((subject) => !stays.includes(JSON.stringify(subject)));
}
