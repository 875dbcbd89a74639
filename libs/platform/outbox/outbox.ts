import { v7 as uuid } from 'uuid';
import { type Db } from '../prisma/client.js';
import { type Job } from './job.js';

/** Sends jobs inside one transaction: no commit, no job. The relay in the worker hands them to the queue afterwards. */
export class OutboxWriter {
  constructor(
    private readonly db: Db,
    private readonly now: Date,
    private readonly origin: { actorId: string | null; requestId: string | null },
  ) {}

  /** Leaves a message for the relay. A second message with the same `dedupeKey` is dropped, whoever sends it. */
  async send<T>(job: Job<T>, payload: T, options: { availableAt?: Date; dedupeKey?: string } = {}): Promise<void> {
    await this.db.outboxMessage.createMany({
      data: [
        {
          id: uuid(),
          job: job.name,
          schemaVersion: job.version,
          payload: job.payload.parse(payload) as object,
          ...this.origin,
          dedupeKey: options.dedupeKey ?? null,
          availableAt: options.availableAt ?? this.now,
          createdAt: this.now,
        },
      ],
      skipDuplicates: true,
    });
  }
}
