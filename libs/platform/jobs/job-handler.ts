import { type Job } from '../outbox/index.js';
import { type Tx } from '../prisma/index.js';

/** The message a handler works on, without its payload. */
export type MessageFacts = {
  readonly id: string;
  /** The account whose write sent it; null when the server itself did. */
  readonly actorId: string | null;
  readonly createdAt: Date;
};

/**
 * Does one kind of job. `handle` runs in one transaction with the receipt, so it happens once however often the message
 * is delivered. It reads the present state and does nothing when the work no longer applies. What it throws rolls
 * everything back and is tried again.
 */
export type JobHandler<T> = {
  readonly job: Job<T>;
  handle(tx: Tx, payload: T, message: MessageFacts): Promise<void>;
};

/** A handler whose payload type is not known: `payload` has passed the schema of its `job` before it is handed over. */
export type AnyJobHandler = {
  readonly job: Job<unknown>;
  handle(tx: Tx, payload: never, message: MessageFacts): Promise<void>;
};
