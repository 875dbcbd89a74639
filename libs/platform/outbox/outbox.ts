import { v7 as uuid } from 'uuid';
import { type Job } from './job.js';

/** A message that waits to be written. */
export type NewMessage = {
  readonly id: string;
  readonly job: string;
  readonly schemaVersion: number;
  /** JSON. */
  readonly payload: string;
  readonly actorId: string | null;
  readonly requestId: string | null;
  readonly dedupeKey: string | null;
  readonly availableAt: Date;
  readonly createdAt: Date;
};

/**
 * Takes the jobs of one transaction; the unit of work leaves them for the relay in the worker before it commits: no commit,
 * no job.
 */
export class OutboxWriter {
  private messages: NewMessage[] = [];

  constructor(
    private readonly now: Date,
    private readonly origin: { actorId: string | null; requestId: string | null },
  ) {}

  /** Adds a message. A second message with the same `dedupeKey` is dropped, whoever sends it. */
  send<T>(job: Job<T>, payload: T, options: { availableAt?: Date; dedupeKey?: string } = {}): Promise<void> {
    this.messages.push({
      id: uuid(),
      job: job.name,
      schemaVersion: job.version,
      payload: JSON.stringify(job.payload.parse(payload)),
      ...this.origin,
      dedupeKey: options.dedupeKey ?? null,
      availableAt: options.availableAt ?? this.now,
      createdAt: this.now,
    });
    return Promise.resolve();
  }

  /** The messages taken since the last call. */
  takeAll(): NewMessage[] {
    return this.messages.splice(0);
  }
}
