export { defineJob, type Job } from './job.js';
export { OutboxWriter } from './outbox.js';
export { type QueueMemory, reopenLost, SILENCE_MINUTES } from './reconciler.js';
export { type MessageSink, Relay } from './relay.js';
