import { z } from 'zod';
import { defineJob } from '../../platform/outbox/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Side, type Transfer } from '../core/transfer.core.js';

/** What one side of a transfer did that the other should hear of. An offer that expired is told by the job that ends it. */
export const TRANSFER_NEWS = [
  'offered',
  'accepted',
  'declined',
  'withdrawn',
  'cancelled',
  'sent',
  'left_out',
  'received',
  'failure_declared',
  'failed',
  'condition_settled',
  'countersigned',
  'countersignature_withdrawn',
  'payment_declared',
  'payment_confirmed',
  'payment_questioned',
  'loan_day_asked',
  'loan_day_agreed',
  'loan_day_declined',
  'loan_day_withdrawn',
  'loan_recalled',
  'young_recorded',
  'pick_due',
] as const;
export type TransferNews = (typeof TRANSFER_NEWS)[number];

/** Tells one side of a transfer what the other did. Sent in the transaction of the act. */
export const tellTransfer = defineJob({
  name: 'transfer.tell-other-side',
  version: 1,
  payload: z.strictObject({ transferId: z.uuid(), keeperId: z.uuid(), what: z.enum(TRANSFER_NEWS) }),
  attempts: 8,
});

/** Kind of the notice about a piece of news. */
export const transferNoticeKind = (what: TransferNews): string => `transfer_${what}`;

/** Body of all of them: which transfer it is. */
export const transferNotice = z.strictObject({ transferId: z.uuid() });

/** Leaves word for the other side of `by`, where that is a keeper here; an outside party has no account to be told by. */
export async function tellOtherSide(
  tx: Tx,
  { id, fromKeeperId, receiver }: Pick<Transfer, 'id' | 'fromKeeperId' | 'receiver'>,
  by: Side,
  what: TransferNews,
): Promise<void> {
  if (receiver.kind !== 'keeper') return;
  const keeperId = by === 'giver' ? receiver.keeperId : fromKeeperId;
  await tx.outbox.send(tellTransfer, { transferId: id, keeperId, what });
}
