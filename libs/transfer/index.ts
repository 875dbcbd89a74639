/** Hand-overs between keepers, or to somebody without an account; the papers that go with them; the arrival reminder. */
// Loaded for what it does: records whose property waits for payment are not joined or merged with others.
import './app/follow-counts.js';
import './title/follow-waiting.js';
// And young of a loan belong to both its sides as soon as they are recorded.
import './loan-young/follow-clutches.js';
import './loan-young/follow-merges.js';
import './loan-young/follow-young.js';

export { AcceptTransfer } from './app/accept-transfer.js';
export { cancelCommand, CancelTransfer } from './app/cancel-transfer.js';
export { ClaimOwnership } from './claims/claim-ownership.js';
export { ConfirmPayment } from './title/answer-payment.js';
export { DeclarePayment } from './title/declare-payment.js';
export { DeclineTransfer } from './app/decline-transfer.js';
export { failCommand, FailTransfer } from './app/fail-transfer.js';
export { leaveOutCommand, LeaveOutItems } from './app/leave-out-items.js';
export { type OfferCommand, offerCommand, type OfferOutcome, OfferTransfer } from './app/offer-transfer.js';
export { receiveCommand, ReceiveTransfer } from './app/receive-transfer.js';
export { sendCommand, SendTransfer } from './app/send-transfer.js';
export { type StepCommand, stepCommand, type StepOutcome } from './app/step-command.js';
export { takeUpCommand, TakeUpTransfer } from './app/take-up-transfer.js';
export { WithdrawTransfer } from './app/withdraw-transfer.js';
export { maySee, mayStep } from './core/policy.core.js';
export { type Transfer, type TransferState } from './core/transfer.core.js';
export { ExpireOffersHandler } from './jobs/expire-offers.handler.js';
export { expireOffers, OFFER_EXPIRED, offerExpiredNotice, requestExpireOffers } from './jobs/expire-offers.job.js';
export { RemindArrivalQuarantineHandler } from './jobs/remind-arrival-quarantine.handler.js';
export {
  ARRIVAL_QUARANTINE,
  arrivalQuarantineNotice,
  remindArrivalQuarantine,
} from './jobs/remind-arrival-quarantine.job.js';
export { LapseClaimsHandler } from './jobs/lapse-claims.handler.js';
export { lapseClaims, requestLapseClaims } from './jobs/lapse-claims.job.js';
export { RemindInstalmentsHandler } from './jobs/remind-instalments.handler.js';
export { remindInstalments, requestInstalmentReminders } from './jobs/remind-instalments.job.js';
export { RemindLoansHandler } from './jobs/remind-loans.handler.js';
export { remindLoans, requestLoanReminders } from './jobs/remind-loans.job.js';
export { TellTransferHandler } from './jobs/tell-transfer.handler.js';
export { tellTransfer, type TransferNews } from './jobs/tell-transfer.job.js';
export { TellClaimHandler } from './jobs/tell-claim.handler.js';
export { tellClaim } from './jobs/tell-claim.job.js';
export { TransferJobsModule } from './jobs/transfer-jobs.module.js';
export { findOpenLoans } from './loans/loan.store.js';
export { findOpenPicks } from './loan-young/split.store.js';
export { NO_PROOF } from './papers/record-paper.core.js';
export { whenInWords } from './papers/when-words.core.js';
export { type Doc, FONTS, labelled, MARGIN, newPaper, room, rule, WIDTH } from './papers/paper-drawing.js';
export { PrintRecord } from './papers/print-record.js';
export { drawRecordPaper, type PaperSheet } from './papers/record-paper.pdf.js';
export { TAKEN_UP_LABEL, TransferStore, type VisibleTransfer } from './store/transfer.store.js';
export { TransferModule } from './transfer.module.js';
