/** Live queries: what the database announces, handed to those who may see it, over sockets. */
export { LiveChanges, type LiveEvent } from './live-changes.js';
export { LiveModule } from './live.module.js';
