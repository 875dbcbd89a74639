import { setTimeout as sleep } from 'node:timers/promises';
import { type PrismaClient } from '../prisma/client.js';
import { lockWaiting, markDispatched, markRefused } from './outbox.store.js';

/** What the relay needs of the queue. `add` takes all or throws; an id added twice counts once. */
export type MessageSink = { add(messages: readonly { id: string; job: string; attempts: number }[]): Promise<void> };

const BATCH = 100;
/** Milliseconds between two looks at an empty outbox. */
const POLL = 1_000;
/** Longest pause after failures, in milliseconds. */
const LONGEST_PAUSE = 30_000;

/**
 * Hands committed messages to the queue. Any number of relays may run at once. A crash after the queue took a batch and
 * before COMMIT hands the batch over again: the same ids, which the queue ignores or the receipt absorbs.
 */
export class Relay {
  private readonly stopping = new AbortController();
  private running: Promise<void> | undefined;

  /** `attemptsOf` a job name; `onTrouble` hears of every round that failed. */
  constructor(
    private readonly client: PrismaClient,
    private readonly sink: MessageSink,
    private readonly attemptsOf: (job: string) => number,
    private readonly onTrouble: (error: Error) => void,
  ) {}

  /** One round: up to 100 waiting messages go to the queue. Returns how many; throws when the queue or database is away. */
  async pass(): Promise<number> {
    let ids: string[] = [];
    try {
      return await this.client.$transaction(
        async (db) => {
          const messages = await lockWaiting(db, BATCH);
          if (messages.length === 0) return 0;
          ids = messages.map(({ id }) => id);
          await this.sink.add(messages.map(({ id, job }) => ({ id, job, attempts: this.attemptsOf(job) })));
          await markDispatched(db, ids);
          return messages.length;
        },
        { maxWait: 5_000, timeout: 15_000 },
      );
    } catch (error) {
      if (ids.length > 0) await markRefused(this.client, ids, error instanceof Error ? error.message : String(error));
      throw error;
    }
  }

  /** Works until `close`: at once while there is work, every second when there is none, backing off after failures. */
  start(): void {
    this.running ??= this.loop();
  }

  /** Finishes the round that is under way. */
  async close(): Promise<void> {
    this.stopping.abort();
    await this.running;
  }

  private async loop(): Promise<void> {
    const { signal } = this.stopping;
    let pause = POLL;
    while (!signal.aborted) {
      try {
        const handed = await this.pass();
        pause = handed > 0 ? 0 : POLL;
      } catch (error) {
        pause = Math.min(Math.max(pause * 2, POLL), LONGEST_PAUSE);
        this.onTrouble(error instanceof Error ? error : new Error(String(error)));
      }
      await sleep(pause, undefined, { signal }).catch(() => undefined);
    }
  }
}
