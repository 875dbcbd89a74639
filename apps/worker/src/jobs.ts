import { checkExpiry, CheckExpiryHandler, DocumentJobsModule } from '../../../libs/document/index.js';
import { checkQuarantineEnd, CheckQuarantineEndHandler, HealthJobsModule } from '../../../libs/health/index.js';
import { recheckOrigin } from '../../../libs/animal/index.js';
import {
  ProvenanceJobsModule,
  RecheckOriginHandler,
  sweepOrigins,
  SweepOriginsHandler,
  weighOrigins,
  WeighOriginsHandler,
} from '../../../libs/provenance/index.js';
import {
  remindArrivalQuarantine,
  RemindArrivalQuarantineHandler,
  TransferJobsModule,
} from '../../../libs/transfer/index.js';

/** Every job contract of the registry. The worker refuses to start unless each has one handler below. */
export const JOBS = [
  checkExpiry,
  checkQuarantineEnd,
  remindArrivalQuarantine,
  recheckOrigin,
  weighOrigins,
  sweepOrigins,
];

/** The classes that handle them. */
export const HANDLERS = [
  CheckExpiryHandler,
  CheckQuarantineEndHandler,
  RemindArrivalQuarantineHandler,
  RecheckOriginHandler,
  WeighOriginsHandler,
  SweepOriginsHandler,
];

/** The modules that provide those classes. */
export const JOB_MODULES = [DocumentJobsModule, HealthJobsModule, TransferJobsModule, ProvenanceJobsModule];
