import { decide } from '../../kernel/index.js';
import { type PrismaClient, type Tx, type UnitOfWork } from '../prisma/index.js';
import { NoRetry } from '../queue/index.js';
import { type JobRegistry } from './job-registry.js';
import { claimReceipt, clearFailure, findMessage, recordFailure, type StoredMessage } from './job.store.js';

/** What is left to do for a message that was read and checked, or why it can never be done. */
type Work = { readonly run: (tx: Tx) => Promise<void> } | { readonly impossible: string };

/** Delivers one message to its handler, once. */
export class JobRunner {
  constructor(
    private readonly client: PrismaClient,
    private readonly uow: UnitOfWork,
    private readonly registry: JobRegistry,
  ) {}

  /**
   * Runs the handler in one transaction with the receipt; a message that has its receipt is left alone. A message that
   * can never be handled (unknown name, version or payload) goes to the list of failures and is answered with `NoRetry`.
   * Any other error is thrown for the queue to try again, and listed when this was the `lastAttempt`.
   */
  async run(messageId: string, lastAttempt: boolean): Promise<void> {
    const message = await findMessage(this.client, messageId);
    const work = this.prepare(message);
    if (message === null || 'impossible' in work) {
      const reason = 'impossible' in work ? work.impossible : '';
      await recordFailure(this.client, { ...failureOf(message, messageId), error: reason });
      throw new NoRetry(reason);
    }
    try {
      await this.uow.writeAsServer(message.requestId, async (tx) => {
        if (!(await claimReceipt(tx.db, message.id, message.job, tx.now))) return decide(undefined);
        // It may stand on the list from an earlier try that an operator repeated.
        await clearFailure(tx.db, message.id);
        await work.run(tx);
        return decide(undefined);
      });
    } catch (error) {
      if (lastAttempt) await recordFailure(this.client, { ...failureOf(message, messageId), error: textOf(error) });
      throw error;
    }
  }

  /** Lists a message that the queue gave up without delivering it. */
  async abandon(messageId: string, reason: string): Promise<void> {
    const message = await findMessage(this.client, messageId);
    await recordFailure(this.client, { ...failureOf(message, messageId), error: reason });
  }

  private prepare(message: StoredMessage | null): Work {
    if (message === null) return { impossible: 'The outbox has no such message.' };
    const handler = this.registry.handlerOf(message.job);
    if (handler === undefined) return { impossible: `No handler is called ${message.job}.` };
    if (handler.job.version !== message.schemaVersion) {
      return {
        impossible: `Version ${message.schemaVersion} was sent, the handler knows version ${handler.job.version}.`,
      };
    }
    const payload = handler.job.payload.safeParse(message.payload);
    if (!payload.success) return { impossible: `The payload is not of its schema: ${payload.error.message}` };
    // The schema that was just passed is the one the handler's own type comes from.
    return { run: (tx) => handler.handle(tx, payload.data as never, message) };
  }
}

function failureOf(message: StoredMessage | null, messageId: string) {
  return { messageId, job: message?.job ?? 'unknown', payload: message?.payload ?? null };
}

function textOf(error: unknown): string {
  return error instanceof Error ? `${error.name}: ${error.message}` : String(error);
}
