import { z } from 'zod';
import { forbidden, NO_ID, notFound, owns, type Viewer } from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { findPayment } from './payment.core.js';
import { type Payment, type Side, type Transfer } from '../core/transfer.core.js';
import { findTransferOf } from './payment.store.js';
import { type TransferStore } from '../store/transfer.store.js';

/** A word of one party about a payment. */
export const noteInput = z
  .string()
  .trim()
  .min(1, 'The note is empty. | Leave it out.')
  .max(500, 'The note is too long. | Use at most 500 characters.');

/** A payment and what the giver says of it. */
export const answerCommand = z.object({ paymentId: idInput, note: noteInput.nullish() });

const payment = z.strictObject({ transferId: z.uuid(), paymentId: z.uuid() });

export const paymentDeclared = defineLedgerAction(
  'transfer.payment-declared',
  1,
  payment.extend({ paidOn: z.iso.date() }),
);

/** `titleMoved`: records whose property went to the receiver because the price was paid with it. */
export const paymentConfirmed = defineLedgerAction(
  'transfer.payment-confirmed',
  2,
  payment.extend({ on: z.iso.date(), paidUp: z.boolean(), titleMoved: z.array(z.uuid()) }),
);

export const paymentQuestioned = defineLedgerAction('transfer.payment-questioned', 1, payment);

/** Amounts are for owners: throws FORBIDDEN for anybody who is none of the side's. Ask it about the locked transfer. */
export function requirePayer(viewer: Viewer, side: Side, { fromKeeperId, receiver }: Transfer): void {
  const keeperId = side === 'giver' ? fromKeeperId : receiver.kind === 'keeper' ? receiver.keeperId : null;
  if (keeperId !== null && owns(viewer, keeperId)) return;
  throw forbidden(`Only an owner of the ${side} says what was paid.`);
}

/** The transfer of a payment, locked, and the payment. Throws NOT_FOUND, and FORBIDDEN but for an owner of the giver. */
export async function lockPayment(
  tx: Tx,
  viewer: Viewer,
  transfers: TransferStore,
  paymentId: string,
): Promise<{ transfer: Transfer; payment: Payment }> {
  const transferId = await findTransferOf(tx, paymentId);
  const transfer = await transfers.lock(tx, viewer, transferId ?? NO_ID);
  const found = findPayment(transfer, paymentId);
  if (found === undefined) throw notFound('transfer');
  requirePayer(viewer, 'giver', transfer);
  return { transfer, payment: found };
}
