import { Module, type OnModuleInit } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { MembershipModule } from '../membership/index.js';
import { BlobsModule } from '../platform/blobs/index.js';
import { BreedingModule } from '../breeding/index.js';
import { TaxonModule } from '../taxon/index.js';
import { ConfirmHandOver } from './hand-over/confirm-hand-over.js';
import { HandOverSteps } from './hand-over/hand-over-steps.js';
import { OpenHandOver } from './hand-over/open-hand-over.js';
import { HandOverResolver } from './hand-over/hand-over.resolver.js';
import { HandOverCodeController } from './hand-over/hand-over-code.controller.js';
import { AnswerLoanExtension } from './loans/answer-loan-extension.js';
import { AskLoanExtension } from './loans/ask-loan-extension.js';
import { LoanDaysResolver } from './loans/loan-days.resolver.js';
import { LoanResolver, TransferLoanResolver } from './loans/loan.resolver.js';
import { RecallLoan } from './loans/recall-loan.js';
import { WithdrawLoanExtension } from './loans/withdraw-loan-extension.js';
import { AcceptTransfer } from './app/accept-transfer.js';
import { ConfirmPayment, QuestionPayment } from './title/answer-payment.js';
import { AddArrivalPhotos } from './app/add-arrival-photos.js';
import { AgreeToShares } from './claims/agree-to-shares.js';
import { CancelTransfer } from './app/cancel-transfer.js';
import { ClaimOwnership } from './claims/claim-ownership.js';
import { DeclarePayment } from './title/declare-payment.js';
import { SetClubPolicy } from './checks/set-club-policy.js';
import { ClubPolicyResolver } from './checks/club-policy.resolver.js';
import { ClubPolicyStore } from './checks/club-policy.store.js';
import { CountersignTransfer } from './checks/countersign-transfer.js';
import { WithdrawCountersignature } from './checks/withdraw-countersignature.js';
import { DeclineTransfer } from './app/decline-transfer.js';
import { FailTransfer } from './app/fail-transfer.js';
import { LeaveOutItems } from './app/leave-out-items.js';
import { OfferTransfer } from './app/offer-transfer.js';
import { ProposeShares } from './claims/propose-shares.js';
import { ReceiveTransfer } from './app/receive-transfer.js';
import { ReplyToClaim } from './claims/reply-to-claim.js';
import { SendTransfer } from './app/send-transfer.js';
import { SettleCondition } from './app/settle-condition.js';
import { TakeUpTransfer } from './app/take-up-transfer.js';
import { WithdrawClaim } from './claims/withdraw-claim.js';
import { WithdrawTransfer } from './app/withdraw-transfer.js';
import { faultsOf } from './core/transitions.core.js';
import { ClaimResolver } from './claims/claim.resolver.js';
import { OfferTransferResolver } from './graphql/offer-transfer.resolver.js';
import { PickYoung } from './loan-young/pick-young.js';
import { SplitResolver } from './loan-young/split.resolver.js';
import { PaymentResolver } from './title/payment.resolver.js';
import { TransferChecksResolver } from './checks/transfer-checks.resolver.js';
import { TransferEndsResolver } from './graphql/transfer-ends.resolver.js';
import { TransferStepsResolver } from './graphql/transfer-steps.resolver.js';
import { TransferLiveResolver } from './graphql/transfer-live.resolver.js';
import { TransferEggsResolver } from './eggs/transfer-eggs.resolver.js';
import { TransferResolver } from './graphql/transfer.resolver.js';
import { ArrivalPhotoController } from './papers/arrival-photo.controller.js';
import { PaperContents } from './papers/paper-contents.js';
import { PaperPageController } from './papers/paper-page.controller.js';
import { PrintRecord } from './papers/print-record.js';
import { RecordPaperController } from './papers/record-paper.controller.js';
import { SpokenCodes } from './hand-over/spoken-codes.js';
import { ClaimStore } from './claims/claim.store.js';
import { RecordPaperStore } from './papers/record-paper.store.js';
import { TransferStore } from './store/transfer.store.js';

/** Hand-overs and the papers that go with them. Job handlers are in `TransferJobsModule`. */
@Module({
  imports: [AnimalModule, BlobsModule, BreedingModule, MembershipModule, TaxonModule],
  controllers: [ArrivalPhotoController, HandOverCodeController, PaperPageController, RecordPaperController],
  providers: [
    AcceptTransfer,
    ConfirmHandOver,
    HandOverResolver,
    HandOverSteps,
    OpenHandOver,
    AddArrivalPhotos,
    AgreeToShares,
    AnswerLoanExtension,
    AskLoanExtension,
    CancelTransfer,
    ClubPolicyResolver,
    ClubPolicyStore,
    CountersignTransfer,
    WithdrawCountersignature,
    ClaimOwnership,
    ClaimResolver,
    ClaimStore,
    ConfirmPayment,
    DeclarePayment,
    DeclineTransfer,
    FailTransfer,
    LeaveOutItems,
    LoanDaysResolver,
    LoanResolver,
    OfferTransfer,
    OfferTransferResolver,
    PaperContents,
    PaymentResolver,
    PickYoung,
    PrintRecord,
    ProposeShares,
    QuestionPayment,
    RecallLoan,
    ReceiveTransfer,
    RecordPaperStore,
    ReplyToClaim,
    SendTransfer,
    SetClubPolicy,
    SplitResolver,
    SpokenCodes,
    TakeUpTransfer,
    SettleCondition,
    TransferChecksResolver,
    TransferEndsResolver,
    TransferLiveResolver,
    TransferLoanResolver,
    TransferEggsResolver,
    TransferResolver,
    TransferStepsResolver,
    TransferStore,
    WithdrawClaim,
    WithdrawLoanExtension,
    WithdrawTransfer,
  ],
  exports: [AcceptTransfer, OfferTransfer, PrintRecord, ReceiveTransfer, SendTransfer, TakeUpTransfer],
})
export class TransferModule implements OnModuleInit {
  /** A table of transitions with a dead end does not start. */
  onModuleInit(): void {
    const faults = faultsOf();
    if (faults.length > 0) throw new Error(faults.join(' '));
  }
}
