import { checkExpiry, CheckExpiryHandler, DocumentJobsModule } from '../../../libs/document/index.js';
import { checkQuarantineEnd, CheckQuarantineEndHandler, HealthJobsModule } from '../../../libs/health/index.js';
import {
  remindArrivalQuarantine,
  RemindArrivalQuarantineHandler,
  TransferJobsModule,
} from '../../../libs/transfer/index.js';

/** Every job contract of the registry. The worker refuses to start unless each has one handler below. */
export const JOBS = [checkExpiry, checkQuarantineEnd, remindArrivalQuarantine];

/** The classes that handle them. */
export const HANDLERS = [CheckExpiryHandler, CheckQuarantineEndHandler, RemindArrivalQuarantineHandler];

/** The modules that provide those classes. */
export const JOB_MODULES = [DocumentJobsModule, HealthJobsModule, TransferJobsModule];
