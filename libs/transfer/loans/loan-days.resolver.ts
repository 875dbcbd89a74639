import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { type StepOutcome } from '../app/step-command.js';
import { toTransferType, type TransferType } from '../graphql/transfer.types.js';
import { TransferStore } from '../store/transfer.store.js';
import { AnswerLoanExtension, answerLoanExtensionCommand } from './answer-loan-extension.js';
import { AskLoanExtension } from './ask-loan-extension.js';
import { askCommand, loanDayCommand } from './loan-command.js';
import { RecallLoan } from './recall-loan.js';
import { WithdrawLoanExtension } from './withdraw-loan-extension.js';
import {
  AnswerLoanExtensionInput,
  AnswerLoanExtensionPayload,
  AskLoanExtensionInput,
  AskLoanExtensionPayload,
  RecallLoanInput,
  RecallLoanPayload,
  WithdrawLoanExtensionInput,
  WithdrawLoanExtensionPayload,
} from './loan.types.js';

/** How the last day of a loan changes. */
@Resolver()
export class LoanDaysResolver {
  constructor(
    private readonly transfers: TransferStore,
    private readonly asking: AskLoanExtension,
    private readonly answering: AnswerLoanExtension,
    private readonly withdrawing: WithdrawLoanExtension,
    private readonly recalling: RecallLoan,
  ) {}

  @Mutation(() => AskLoanExtensionPayload, {
    description: 'Lender or borrower asks the other for another last day, later or earlier.',
  })
  @Authorize('transfer.ask-loan-extension')
  async askLoanExtension(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: AskLoanExtensionInput,
  ): Promise<AskLoanExtensionPayload> {
    return this.answer(viewer, await this.asking.execute(viewer, parseInput(loanDayCommand, input)));
  }

  @Mutation(() => AnswerLoanExtensionPayload, {
    description: 'The side that was asked agrees, and the day changes, or declines, and it stays.',
  })
  @Authorize('transfer.answer-loan-extension')
  async answerLoanExtension(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: AnswerLoanExtensionInput,
  ): Promise<AnswerLoanExtensionPayload> {
    return this.answer(viewer, await this.answering.execute(viewer, parseInput(answerLoanExtensionCommand, input)));
  }

  @Mutation(() => WithdrawLoanExtensionPayload, { description: 'The side that asked takes the ask back.' })
  @Authorize('transfer.withdraw-loan-extension')
  async withdrawLoanExtension(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: WithdrawLoanExtensionInput,
  ): Promise<WithdrawLoanExtensionPayload> {
    return this.answer(viewer, await this.withdrawing.execute(viewer, parseInput(askCommand, input)));
  }

  @Mutation(() => RecallLoanPayload, {
    description: 'The lender calls the animals back for an earlier day, as the terms allow. Nobody is asked.',
  })
  @Authorize('transfer.recall-loan')
  async recallLoan(@CurrentViewer() viewer: Viewer, @Args('input') input: RecallLoanInput): Promise<RecallLoanPayload> {
    return this.answer(viewer, await this.recalling.execute(viewer, parseInput(loanDayCommand, input)));
  }

  private async answer(viewer: Viewer, { transferId }: StepOutcome): Promise<{ transfer: TransferType }> {
    return { transfer: toTransferType(viewer, await this.transfers.getVisible(viewer, transferId)) };
  }
}
