/** Quarantine as closed groups: entering, leaving, release, the clock, and the notice of its end. */
// Loaded for what they do: quarantine follows every lot that is parted or joined, and records that are merged.
import './app/follow-lots.js';
import './app/follow-merges.js';

export { JoinQuarantine } from './app/join-quarantine.js';
export { OpenQuarantine } from './app/open-quarantine.js';
export {
  joinQuarantineCommand,
  openQuarantineCommand,
  type QuarantineOutcome,
  releaseQuarantineCommand,
} from './app/quarantine-commands.js';
export { ReleaseQuarantine } from './app/release-quarantine.js';
export { startArrivalQuarantine } from './app/start-arrival-quarantine.js';
export { QUARANTINE_CAUTION } from './core/caution.core.js';
export * from './core/quarantine.core.js';
export { HealthModule } from './health.module.js';
export { CheckQuarantineEndHandler } from './jobs/check-quarantine-end.handler.js';
export {
  checkQuarantineEnd,
  QUARANTINE_ENDS,
  quarantineEndsNotice,
  requestQuarantineCheck,
} from './jobs/check-quarantine-end.job.js';
export { HealthJobsModule } from './jobs/health-jobs.module.js';
export {
  findArrivalQuarantine,
  findGroupsOf,
  QuarantineReadStore,
  readQuarantines,
  type StoredEntry,
  type StoredQuarantine,
} from './store/quarantine-read.store.js';
export { leaveQuarantine } from './store/quarantine-write.store.js';
