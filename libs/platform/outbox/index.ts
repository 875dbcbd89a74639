export { defineJob, type Job } from './job.js';
export { OutboxWriter } from './outbox.js';
