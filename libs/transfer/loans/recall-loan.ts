import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { type z } from 'zod';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type StepOutcome, stepOutcome } from '../app/step-command.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { TransferStore } from '../store/transfer.store.js';
import { type loanDayCommand, loanDayEntry, loanRecalled, lockLoan, requireLoanSide } from './loan-command.js';
import { recallLoan } from './loan-day.core.js';
import { insertDay, moveLoanOn, saveDay } from './loan.store.js';

/** The lender calls the animals back for an earlier day than was agreed, as far as the terms of the loan let it. */
@Injectable()
export class RecallLoan {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, FORBIDDEN for the borrower, STALE_VERSION, RULE_REFUSED GUARDIAN_SPEAKS and what `recallLoan` refuses. */
  async execute(viewer: Viewer, command: z.infer<typeof loanDayCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.recall-loan', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { transferId, expectedVersion, dueBack } = command;
      const { transfer, loan } = await lockLoan(tx, viewer, this.transfers, transferId, expectedVersion);
      await requireLoanSide(tx, viewer, 'lender', transfer);
      const decision = recallLoan(loan, { id: uuid(), dueBack }, tx);
      if (!decision.ok) return decision;
      const { recall, ended } = decision.value;
      if (ended !== null) await saveDay(tx, ended);
      await insertDay(tx, transfer.id, recall);
      await moveLoanOn(tx, transfer.id, recall.dueBack);
      const { subjects, body } = loanDayEntry(transfer, recall, 'lender');
      await tx.ledger.append(loanRecalled, {
        subjects,
        body: { ...body, dueBackBefore: recall.dueBackBefore, ended: ended?.id ?? null },
      });
      await tellOtherSide(tx, transfer, 'giver', 'loan_recalled');
      return decide({ transferId: transfer.id });
    });
  }
}
