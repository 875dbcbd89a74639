export { deleteOldIdempotencyRecords, deleteOldMessages, IDEMPOTENCY_DAYS } from './housekeeping.store.js';
export { type AnyJobHandler, type JobHandler, type MessageFacts } from './job-handler.js';
export { JobRegistry } from './job-registry.js';
export { JobRunner } from './job-runner.js';
export { type ScheduledTask, Schedules } from './schedules.js';
