import { z } from 'zod';
import { type NoticeStore } from '../../membership/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { MAX_MESSAGE } from '../core/thread.core.js';

/** A message as it is sent. */
export const messageInput = z
  .string()
  .trim()
  .min(1, 'The message is empty. | Write what you want to ask or answer.')
  .max(MAX_MESSAGE, `The message is longer than ${MAX_MESSAGE} characters. | Shorten it, or send the rest as another.`);

export const threadIdInput = z.object({ threadId: idInput });

/** What every change of a thread gives back. */
export const threadOutcome = z.object({ threadId: z.uuid() });
export type ThreadOutcome = z.infer<typeof threadOutcome>;

// The keepers of a thread stand in no entry but through the account that acts: whoever reads an animal's entries learns no names.
const body = { threadId: z.uuid(), animalId: z.uuid(), side: z.enum(['asker', 'holder']) };

export const threadOpened = defineLedgerAction(
  'thread.opened',
  1,
  z.strictObject({ ...body, messageId: z.uuid(), aboutAnimalId: z.uuid().nullable() }),
);
export const threadAnswered = defineLedgerAction(
  'thread.answered',
  1,
  z.strictObject({ ...body, messageId: z.uuid(), revealed: z.boolean() }),
);
export const threadClosed = defineLedgerAction('thread.closed', 1, z.strictObject(body));
export const threadRead = defineLedgerAction('thread.read', 1, z.strictObject(body));

/** What a notice about a thread says: which one it is. */
export const threadNotice = z.strictObject({ threadId: z.uuid() });

/**
 * Tells the other side that something happened in a thread, without a word of it and without a name; at most once a day for
 * each kind, so that a lively thread does not fill a mailbox.
 */
export async function notifyThread(
  tx: Tx,
  notices: NoticeStore,
  kind: 'thread_opened' | 'thread_message' | 'thread_closed',
  thread: { readonly id: string; readonly toKeeperId: string },
): Promise<void> {
  await notices.write(tx, {
    keeperId: thread.toKeeperId,
    kind,
    body: threadNotice.parse({ threadId: thread.id }),
    dueOn: null,
    dedupeKey: `${kind}:${thread.id}:${thread.toKeeperId}:${tx.today}`,
  });
}
