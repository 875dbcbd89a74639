import { openQueue, type QueuedData, type QueuePlace } from './connection.js';

/** One message on its way to the queue. `attempts`: tries before it is given up. */
export type QueuedMessage = { readonly id: string; readonly job: string; readonly attempts: number };

/** Where the queue has a message: still to be done, done with (in either way, kept for a while), or not at all. */
export type QueueState = 'pending' | 'finished' | 'absent';

/** Something that happens at the times of a cron pattern (UTC). */
export type Timetable = { readonly name: string; readonly pattern: string };

const HOUR = 3_600;

/** Finished jobs stay this long (seconds): an `add` repeated after a crash of the relay meets the retained id and does nothing. */
const KEEP_COMPLETED = 24 * HOUR;
const KEEP_FAILED = 14 * 24 * HOUR;

/** First pause before a failed job is tried again, in milliseconds; it doubles each time. */
const FIRST_PAUSE = 1_000;

// BullMQ takes neither `:` nor only digits in a job id.
const queueId = (messageId: string) => `outbox-${messageId}`;

/** The producing side of the queue: what the relay, the reconciler and the schedules need of it. */
export class JobQueue {
  private readonly queue: ReturnType<typeof openQueue>;

  /** Opens connections at once; `onTrouble` hears of each lost connection, which BullMQ mends by itself. */
  constructor(place: QueuePlace, onTrouble: (error: Error) => void) {
    const defaultJobOptions = {
      backoff: { type: 'exponential', delay: FIRST_PAUSE },
      removeOnComplete: { age: KEEP_COMPLETED },
      removeOnFail: { age: KEEP_FAILED },
    };
    this.queue = openQueue(place, { defaultJobOptions }, onTrouble);
  }

  /** Resolves once the queue's server answers and its schema is current. */
  async ready(): Promise<void> {
    await this.queue.waitUntilReady();
  }

  /** Adds all messages in one step. An id the queue still has is left as it is. Throws when the server is away. */
  async add(messages: readonly QueuedMessage[]): Promise<void> {
    await this.queue.addBulk(
      messages.map(({ id, job, attempts }) => ({
        name: job,
        data: { messageId: id },
        opts: { jobId: queueId(id), attempts },
      })),
    );
  }

  async stateOf(messageId: string): Promise<QueueState> {
    const state = await this.queue.getJobState(queueId(messageId));
    if (state === 'unknown') return 'absent';
    return state === 'completed' || state === 'failed' ? 'finished' : 'pending';
  }

  /** Forgets a finished job, so that the message can be added again. */
  async forget(messageId: string): Promise<void> {
    await this.queue.remove(queueId(messageId));
  }

  /** Makes the queue deliver `{ schedule: name }` at the pattern's times. Repeating it changes nothing. */
  async schedule({ name, pattern }: Timetable): Promise<void> {
    const data: QueuedData = { schedule: name };
    await this.queue.upsertJobScheduler(name, { pattern, tz: 'UTC' }, { name: `schedule.${name}`, data });
  }

  /** Timetables the queue knows, by name. */
  async scheduled(): Promise<string[]> {
    const schedulers = await this.queue.getJobSchedulers();
    return schedulers.map((scheduler) => scheduler.key);
  }

  /** Stops a timetable. */
  async unschedule(name: string): Promise<void> {
    await this.queue.removeJobScheduler(name);
  }

  async close(): Promise<void> {
    await this.queue.close();
  }
}
