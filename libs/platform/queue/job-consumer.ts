import { setTimeout as sleep } from 'node:timers/promises';
import { type Job, UnrecoverableError } from 'bullmq';
import { z } from 'zod';
import { openConsumer, type QueuedData, type QueuePlace } from './connection.js';

/** Thrown by a deliverer: trying again would not help. */
export class NoRetry extends Error {}

/** What the consumer hands on. A promise that rejects makes the queue try again, unless it rejects with `NoRetry`. */
export type Deliveries = {
  message(delivery: { messageId: string; lastAttempt: boolean }): Promise<void>;
  /** `slot`: the time the schedule asked for, not the time it happens. */
  schedule(tick: { name: string; slot: Date }): Promise<void>;
  /** The queue gave a message up without delivering it: its process died each time it was tried. */
  abandoned(messageId: string, reason: string): Promise<void>;
  trouble(error: Error): void;
};

const queuedData = z.union([
  z.object({ messageId: z.uuid() }),
  z.object({ schedule: z.string() }),
]) satisfies z.ZodType<QueuedData>;

/** Jobs that run side by side in one process. They wait for the database, so few are enough. */
const CONCURRENCY = 5;
/** Milliseconds after which a job of a dead process is taken up by another: jobs are one short transaction each. */
const LOCK = 10_000;
const STALLED_CHECK = 5_000;
/** Times a job may take its process down with it before it is given up. */
const STALLS = 20;
/** Milliseconds a running job is given when the process stops; afterwards it is abandoned and runs again elsewhere. */
const STOP_PATIENCE = 8_000;

/** The consuming side of the queue: takes jobs and hands them to `deliveries`. */
export class JobConsumer {
  private readonly worker: ReturnType<typeof openConsumer>;
  private running: Promise<void> | undefined;

  constructor(
    place: QueuePlace,
    private readonly deliveries: Deliveries,
  ) {
    const options: Parameters<typeof openConsumer>[1] = {
      autorun: false,
      concurrency: CONCURRENCY,
      lockDuration: LOCK,
      stalledInterval: STALLED_CHECK,
      maxStalledCount: STALLS,
      runRetryDelay: 1_000,
    };
    this.worker = openConsumer(place, options, {
      process: (job) => this.deliver(job),
      onFailed: (job, error) => {
        if (job?.deferredFailure === undefined || !('messageId' in job.data)) return;
        deliveries.abandoned(job.data.messageId, error.message).catch((trouble: Error) => deliveries.trouble(trouble));
      },
      onTrouble: (error) => deliveries.trouble(error),
    });
  }

  async ready(): Promise<void> {
    await this.worker.waitUntilReady();
  }

  /** Begins to take jobs. */
  start(): void {
    this.running ??= this.worker.run().catch((error: Error) => this.deliveries.trouble(error));
  }

  /** Takes no more jobs, waits for the running ones, and abandons those that take too long. */
  async close(): Promise<void> {
    const closed = this.worker.close().then(() => true);
    const patience = new AbortController();
    const inTime = await Promise.race([closed, sleep(STOP_PATIENCE, false, { signal: patience.signal })]);
    if (inTime) patience.abort();
    else await this.worker.disconnect();
  }

  private async deliver(job: Job<QueuedData>): Promise<void> {
    try {
      const data = queuedData.parse(job.data);
      if ('schedule' in data) {
        await this.deliveries.schedule({ name: data.schedule, slot: new Date(job.opts.prevMillis ?? job.timestamp) });
      } else {
        await this.deliveries.message({
          messageId: data.messageId,
          lastAttempt: job.attemptsMade + 1 >= (job.opts.attempts ?? 1),
        });
      }
    } catch (error) {
      throw error instanceof NoRetry || error instanceof z.ZodError ? new UnrecoverableError(error.message) : error;
    }
  }
}
