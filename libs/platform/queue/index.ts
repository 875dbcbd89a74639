export { type QueuePlace } from './connection.js';
export { type Deliveries, JobConsumer, NoRetry } from './job-consumer.js';
export { JobQueue, type QueuedMessage, type QueueState, type Timetable } from './job-queue.js';
