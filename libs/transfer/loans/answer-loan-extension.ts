import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type StepOutcome, stepOutcome } from '../app/step-command.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { TransferStore } from '../store/transfer.store.js';
import { askCommand, loanDayAnswered, loanDayEntry, lockAsk, requireLoanSide, SIDE_OF } from './loan-command.js';
import { answerExtension } from './loan-day.core.js';
import { moveLoanOn, saveDay } from './loan.store.js';

/** An ask, and whether the other side agrees to the day. */
export const answerLoanExtensionCommand = askCommand.extend({ agree: z.boolean() });

/** The side that was asked agrees to another last day of a loan, or declines it. */
@Injectable()
export class AnswerLoanExtension {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN for the side that asked, RULE_REFUSED GUARDIAN_SPEAKS and what `answerExtension` refuses. */
  async execute(viewer: Viewer, command: z.infer<typeof answerLoanExtensionCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.answer-loan-extension', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { transfer, loan, ask } = await lockAsk(tx, viewer, this.transfers, command.extensionId);
      const by = ask.askedBy === 'lender' ? 'borrower' : 'lender';
      await requireLoanSide(tx, viewer, by, transfer);
      const answered = answerExtension(loan, ask.id, command.agree, tx);
      if (!answered.ok) return answered;
      await saveDay(tx, answered.value);
      await moveLoanOn(tx, transfer.id, command.agree ? answered.value.dueBack : null);
      const { subjects, body } = loanDayEntry(transfer, answered.value, by);
      await tx.ledger.append(loanDayAnswered, { subjects, body: { ...body, agreed: command.agree } });
      await tellOtherSide(tx, transfer, SIDE_OF[by], command.agree ? 'loan_day_agreed' : 'loan_day_declined');
      return decide({ transferId: transfer.id });
    });
  }
}
