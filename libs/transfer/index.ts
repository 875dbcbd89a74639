export {
  ARRIVAL_QUARANTINE,
  arrivalQuarantineNotice,
  remindArrivalQuarantine,
} from './jobs/remind-arrival-quarantine.job.js';
export { RemindArrivalQuarantineHandler } from './jobs/remind-arrival-quarantine.handler.js';
export { TransferJobsModule } from './jobs/transfer-jobs.module.js';
