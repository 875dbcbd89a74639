import { endShares, landEggs } from '../../breeding/index.js';
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
  const stays = {
    items: transfer.items.filter(({ arrivals }) =>
      arrivals.some(({ state }) => state !== 'missing' && state !== 'refused'),
    ),
    eggs: transfer.eggs.filter(({ arrival }) => arrival !== null && landsWithReceiver(arrival)),
  };
  const kept = sharedBy(stays).map((subject) => JSON.stringify(subject));
  const over = sharedBy(transfer).filter((subject) => !kept.includes(JSON.stringify(subject)));
  await endShares(tx, transfer.id, over);
}
