import { CustodyJobsModule, tellTheft, TellTheftHandler } from '../../../libs/custody/index.js';
import { checkExpiry, CheckExpiryHandler, DocumentJobsModule } from '../../../libs/document/index.js';
import { ExchangeJobsModule, removeFiles, RemoveFilesHandler } from '../../../libs/exchange/index.js';
import { checkQuarantineEnd, CheckQuarantineEndHandler, HealthJobsModule } from '../../../libs/health/index.js';
import {
  AnimalJobsModule,
  checkPhotosDue,
  CheckPhotosDueHandler,
  recheckOrigin,
  tellMarkConflict,
  TellMarkConflictHandler,
} from '../../../libs/animal/index.js';
import { MembershipJobsModule, sendDigests, SendDigestsHandler } from '../../../libs/membership/index.js';
import {
  ProvenanceJobsModule,
  RecheckOriginHandler,
  sweepOrigins,
  SweepOriginsHandler,
  weighOrigins,
  WeighOriginsHandler,
} from '../../../libs/provenance/index.js';
import {
  expireOffers,
  ExpireOffersHandler,
  LapseClaimsHandler,
  lapseClaims,
  remindArrivalQuarantine,
  RemindArrivalQuarantineHandler,
  tellTransfer,
  TellTransferHandler,
  tellClaim,
  TellClaimHandler,
  remindInstalments,
  RemindInstalmentsHandler,
  remindLoans,
  RemindLoansHandler,
  TransferJobsModule,
} from '../../../libs/transfer/index.js';

/** Every job contract of the registry. The worker refuses to start unless each has one handler below. */
export const JOBS = [
  tellClaim,
  checkExpiry,
  checkQuarantineEnd,
  checkPhotosDue,
  lapseClaims,
  remindInstalments,
  remindLoans,
  remindArrivalQuarantine,
  expireOffers,
  recheckOrigin,
  weighOrigins,
  sweepOrigins,
  tellMarkConflict,
  tellTheft,
  tellTransfer,
  sendDigests,
  removeFiles,
];

/** The classes that handle them. */
export const HANDLERS = [
  TellClaimHandler,
  CheckExpiryHandler,
  CheckQuarantineEndHandler,
  CheckPhotosDueHandler,
  LapseClaimsHandler,
  RemindInstalmentsHandler,
  RemindLoansHandler,
  RemindArrivalQuarantineHandler,
  ExpireOffersHandler,
  RecheckOriginHandler,
  WeighOriginsHandler,
  SweepOriginsHandler,
  TellMarkConflictHandler,
  TellTheftHandler,
  TellTransferHandler,
  SendDigestsHandler,
  RemoveFilesHandler,
];

/** The modules that provide those classes. */
export const JOB_MODULES = [
  AnimalJobsModule,
  CustodyJobsModule,
  DocumentJobsModule,
  ExchangeJobsModule,
  HealthJobsModule,
  MembershipJobsModule,
  TransferJobsModule,
  ProvenanceJobsModule,
];
