import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type StepOutcome, stepOutcome } from '../app/step-command.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { TransferStore } from '../store/transfer.store.js';
import { type askCommand, loanDayEntry, loanDayWithdrawn, lockAsk, requireLoanSide, SIDE_OF } from './loan-command.js';
import { withdrawExtension } from './loan-day.core.js';
import { moveLoanOn, saveDay } from './loan.store.js';

/** The side that asked for another last day of a loan takes the ask back. */
@Injectable()
export class WithdrawLoanExtension {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN for the side that was asked, RULE_REFUSED GUARDIAN_SPEAKS, LOAN_DAY_ANSWERED. */
  async execute(viewer: Viewer, command: z.infer<typeof askCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.withdraw-loan-extension', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { transfer, loan, ask } = await lockAsk(tx, viewer, this.transfers, command.extensionId);
      await requireLoanSide(tx, viewer, ask.askedBy, transfer);
      const withdrawn = withdrawExtension(loan, ask.id, tx);
      if (!withdrawn.ok) return withdrawn;
      await saveDay(tx, withdrawn.value);
      await moveLoanOn(tx, transfer.id, null);
      await tx.ledger.append(loanDayWithdrawn, loanDayEntry(transfer, withdrawn.value, ask.askedBy));
      await tellOtherSide(tx, transfer, SIDE_OF[ask.askedBy], 'loan_day_withdrawn');
      return decide({ transferId: transfer.id });
    });
  }
}
