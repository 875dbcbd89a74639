import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { decide, type Viewer } from '../../kernel/index.js';
import { dayInput, idInput } from '../../platform/input/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { declarePayment } from './payment.core.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { insertPayment, movePaymentOn } from './payment.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { noteInput, paymentDeclared, requirePayer } from './payment-command.js';
import { type StepOutcome, stepOutcome } from '../app/step-command.js';

/** What the receiver says it paid of a price that property waits for. */
export const declarePaymentCommand = z.object({
  transferId: idInput,
  minor: z.int().positive('A payment is more than nothing. | Write at least 1, in cents or the like.'),
  paidOn: dayInput,
  note: noteInput.nullish(),
});

/** The receiver says that it paid. Nothing follows before the giver confirms it. */
@Injectable()
export class DeclarePayment {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN but for an owner of the receiver, and RULE_REFUSED with what `declarePayment` refuses. */
  async execute(viewer: Viewer, command: z.infer<typeof declarePaymentCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.declare-payment', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const transfer = await this.transfers.lock(tx, viewer, command.transferId);
      requirePayer(viewer, 'receiver', transfer);
      const { minor, paidOn, note = null } = command;
      const payment = { id: uuid(), minor, paidOn, state: 'declared' as const, note, answerNote: null };
      const decision = declarePayment(transfer, payment, tx.today);
      if (!decision.ok) return decision;
      await insertPayment(tx, transfer.id, decision.value);
      await movePaymentOn(tx, transfer.id, null);
      await tx.ledger.append(paymentDeclared, {
        subjects: [transfer.id],
        body: { transferId: transfer.id, paymentId: payment.id, paidOn },
        personal: { minor: String(minor), ...(note === null ? {} : { note }) },
      });
      await tellOtherSide(tx, transfer, 'receiver', 'payment_declared');
      return decide({ transferId: transfer.id });
    });
  }
}
