import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { lockAnimals } from '../../animal/index.js';
import { decide, type Decision, type Viewer } from '../../kernel/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { confirmPayment, questionPayment } from './payment.core.js';
import { frozenProblem } from './title.core.js';
import { type Transfer } from '../core/transfer.core.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { readAnimalsAtHand } from '../store/animals-at-hand.store.js';
import { endWaiting, findWaitingRecords, movePaymentOn, saveAnswer } from './payment.store.js';
import { TransferStore } from '../store/transfer.store.js';
import { moveTitle } from './move-title.js';
import { type answerCommand, lockPayment, paymentConfirmed, paymentQuestioned } from './payment-command.js';
import { type StepOutcome, stepOutcome } from '../app/step-command.js';

type Command = z.infer<typeof answerCommand>;

/** The giver has received a payment. With the one that reaches the price, property goes to the receiver today. */
@Injectable()
export class ConfirmPayment {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN but for an owner of the giver, RULE_REFUSED with what `confirmPayment` refuses. */
  async execute(viewer: Viewer, command: Command): Promise<StepOutcome> {
    const request = { action: 'transfer.confirm-payment', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { transfer: before } = await lockPayment(tx, viewer, this.transfers, command.paymentId);
      const waiting = await findWaitingRecords(tx, before.id);
      await lockAnimals(
        tx,
        waiting.map(({ animalId }) => animalId),
      );
      // Read again: animals on their way back may have arrived while this waited for them.
      const transfer = await this.transfers.lock(tx, viewer, before.id);
      const decision = confirmPayment(transfer, command.paymentId);
      if (!decision.ok) return decision;
      const { payment, paidUp } = decision.value;
      const note = command.note ?? null;
      await saveAnswer(tx, { ...payment, answerNote: note });
      const moved = paidUp ? await moveWaiting(tx, transfer) : decide<string[]>([]);
      if (!moved.ok) return moved;
      await movePaymentOn(tx, transfer.id, paidUp ? tx.today : null);
      await tx.ledger.append(paymentConfirmed, {
        subjects: [transfer.id, ...moved.value],
        body: { transferId: transfer.id, paymentId: payment.id, on: tx.today, paidUp, titleMoved: moved.value },
        personal: note === null ? {} : { note },
      });
      await tellOtherSide(tx, transfer, 'giver', 'payment_confirmed');
      return decide({ transferId: transfer.id });
    });
  }
}

/** Property of everything that waits goes to the receiver today. Gives the records. */
async function moveWaiting(tx: Tx, transfer: Transfer): Promise<Decision<string[]>> {
  const records = await findWaitingRecords(tx, transfer.id);
  const ids = records.map(({ animalId }) => animalId);
  await lockAnimals(tx, ids);
  const animals = await readAnimalsAtHand(tx, transfer.fromKeeperId, ids, transfer.id);
  const frozen = frozenProblem([...animals.values()]);
  if (frozen !== null) return frozen;
  const shares = new Map(transfer.items.map(({ id, share }) => [id, share]));
  for (const { itemId, animalId } of records) {
    const moved = await moveTitle(tx, {
      animalId,
      giverId: transfer.fromKeeperId,
      receiver: transfer.receiver,
      share: shares.get(itemId) ?? null,
      on: tx.today,
    });
    if (!moved.ok) return moved;
  }
  await endWaiting(
    tx,
    records.map(({ itemId }) => itemId),
  );
  return decide(ids);
}

/** The giver says that a payment has not arrived. */
@Injectable()
export class QuestionPayment {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN but for an owner of the giver, RULE_REFUSED PAYMENT_ANSWERED. */
  async execute(viewer: Viewer, command: Command): Promise<StepOutcome> {
    const request = { action: 'transfer.question-payment', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { transfer } = await lockPayment(tx, viewer, this.transfers, command.paymentId);
      const decision = questionPayment(transfer, command.paymentId);
      if (!decision.ok) return decision;
      const note = command.note ?? null;
      await saveAnswer(tx, { ...decision.value, answerNote: note });
      await movePaymentOn(tx, transfer.id, null);
      await tx.ledger.append(paymentQuestioned, {
        subjects: [transfer.id],
        body: { transferId: transfer.id, paymentId: command.paymentId },
        personal: note === null ? {} : { note },
      });
      await tellOtherSide(tx, transfer, 'giver', 'payment_questioned');
      return decide({ transferId: transfer.id });
    });
  }
}
