import { type PrismaClient } from '../prisma/client.js';
import { reopen, silentMessages, type SilentMessage } from './outbox.store.js';

/** What the reconciler needs of the queue. */
export type QueueMemory = {
  stateOf(messageId: string): Promise<'pending' | 'finished' | 'absent'>;
  forget(messageId: string): Promise<void>;
};

/** Minutes without an answer after which the queue is asked what became of a message. */
export const SILENCE_MINUTES = 10;

const PAGE = 500;

/**
 * The second net under the queue: finds messages handed over before `slot` minus ten minutes that have neither receipt
 * nor failure. One the queue still has is left alone, however long the backlog; one it lost (a wiped Redis, a restored
 * database) or finished without a trace is handed over again. Safe to run twice for a slot. Returns how many it re-opened.
 */
export async function reopenLost(client: PrismaClient, queue: QueueMemory, slot: Date): Promise<number> {
  const before = new Date(slot.getTime() - SILENCE_MINUTES * 60_000);
  let reopened = 0;
  let last: SilentMessage | null = null;
  do {
    const page: SilentMessage[] = await silentMessages(client, before, last, PAGE);
    for (const message of page) {
      const state = await queue.stateOf(message.id);
      if (state === 'pending') continue;
      if (state === 'finished') await queue.forget(message.id);
      if (await reopen(client, message)) reopened += 1;
    }
    last = page.at(-1) ?? null;
  } while (last !== null);
  return reopened;
}
