import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { type z } from 'zod';
import { decide, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type StepOutcome, stepOutcome } from '../app/step-command.js';
import { tellOtherSide } from '../jobs/tell-transfer.job.js';
import { TransferStore } from '../store/transfer.store.js';
import {
  loanDayAsked,
  loanDayEntry,
  type loanDayCommand,
  loanSidesOf,
  lockLoan,
  requireLoanSide,
  SIDE_OF,
} from './loan-command.js';
import { askExtension } from './loan-day.core.js';
import { insertDay, moveLoanOn } from './loan.store.js';

/** One side of a loan asks the other for another last day, later or earlier. The day stays until the other agrees. */
@Injectable()
export class AskLoanExtension {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly transfers: TransferStore,
  ) {}

  /** Throws NOT_FOUND, STALE_VERSION, RULE_REFUSED GUARDIAN_SPEAKS and what `askExtension` refuses. */
  async execute(viewer: Viewer, command: z.infer<typeof loanDayCommand>): Promise<StepOutcome> {
    const request = { action: 'transfer.ask-loan-extension', input: command, outcome: stepOutcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { transferId, expectedVersion } = command;
      const { transfer, loan } = await lockLoan(tx, viewer, this.transfers, transferId, expectedVersion);
      const by = loanSidesOf(viewer, transfer)[0] ?? 'borrower';
      await requireLoanSide(tx, viewer, by, transfer);
      const asked = askExtension(loan, { id: uuid(), by, dueBack: command.dueBack }, tx);
      if (!asked.ok) return asked;
      await insertDay(tx, transfer.id, asked.value);
      await moveLoanOn(tx, transfer.id, null);
      await tx.ledger.append(loanDayAsked, loanDayEntry(transfer, asked.value, by));
      await tellOtherSide(tx, transfer, SIDE_OF[by], 'loan_day_asked');
      return decide({ transferId: transfer.id });
    });
  }
}
