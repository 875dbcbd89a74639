import {
  remindArrivalQuarantine,
  RemindArrivalQuarantineHandler,
  TransferJobsModule,
} from '../../../libs/transfer/index.js';

/** Every job contract of the registry. The worker refuses to start unless each has one handler below. */
export const JOBS = [remindArrivalQuarantine];

/** The classes that handle them. */
export const HANDLERS = [RemindArrivalQuarantineHandler];

/** The modules that provide those classes. */
export const JOB_MODULES = [TransferJobsModule];
