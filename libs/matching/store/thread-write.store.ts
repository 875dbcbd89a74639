import { v7 as uuid } from 'uuid';
import { actsFor, speaksFor, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { guardianSpeaks } from './guardian-speaks.js';
import { DAYS_CLOSED, type ThreadSide, type ThreadState } from '../core/thread.core.js';

/** A thread, locked, as one of its sides changes it. */
export type LockedThread = ThreadState & {
  readonly id: string;
  readonly animalId: string;
  readonly side: ThreadSide;
  /** The keeper of the other side. */
  readonly otherKeeperId: string;
};

/** What stands against a new thread of a keeper about an animal, and how many it opened lately. */
export type AskerHistory = {
  readonly openThreadId: string | null;
  /** The other side closed one about this animal within DAYS_CLOSED. */
  readonly closedLately: boolean;
  /** When the threads of the last day were opened, oldest first. */
  readonly openedInADay: readonly Date[];
};

const DAY_MS = 86_400_000;

/** Locks a keeper as an asker, so that what it opens is counted one after the other, and reads what it opened. */
export async function lockAsker(tx: Tx, keeperId: string, animalId: string): Promise<AskerHistory> {
  await tx.db.$queryRaw`SELECT id FROM keeper WHERE id = ${keeperId}::uuid FOR NO KEY UPDATE`;
  const about = await tx.db.askThread.findMany({
    where: {
      askerKeeperId: keeperId,
      animalId,
      OR: [
        { closedAt: null },
        { closedBy: 'holder', closedAt: { gt: new Date(tx.now.getTime() - DAYS_CLOSED * DAY_MS) } },
      ],
    },
    select: { id: true, closedAt: true },
  });
  const opened = await tx.db.askThread.findMany({
    where: { askerKeeperId: keeperId, openedAt: { gt: new Date(tx.now.getTime() - DAY_MS) } },
    select: { openedAt: true },
    orderBy: { openedAt: 'asc' },
  });
  return {
    openThreadId: about.find((thread) => thread.closedAt === null)?.id ?? null,
    closedLately: about.some((thread) => thread.closedAt !== null),
    openedInADay: opened.map(({ openedAt }) => openedAt),
  };
}

/** Opens a thread with its first message. Gives their ids. */
export async function insertThread(
  tx: Tx,
  thread: {
    animalId: string;
    aboutAnimalId: string | null;
    askerKeeperId: string;
    holderKeeperId: string;
    text: string;
  },
): Promise<{ threadId: string; messageId: string }> {
  const { text, ...row } = thread;
  const threadId = uuid();
  await tx.db.askThread.create({
    data: { id: threadId, ...row, openedAt: tx.now, lastMessageAt: tx.now, askerReadAt: tx.now },
  });
  return { threadId, messageId: await insertMessage(tx, threadId, 'asker', text) };
}

/** Locks a thread the viewer speaks in; null where there is none. RULE_REFUSED GUARDIAN_SPEAKS where a guardian alone does. */
export async function lockThread(tx: Tx, viewer: Viewer, id: string): Promise<LockedThread | null> {
  await tx.db.$queryRaw`SELECT id FROM ask_thread WHERE id = ${id}::uuid FOR NO KEY UPDATE`;
  const row = await tx.db.askThread.findUnique({ where: { id } });
  if (row === null) return null;
  const { askerKeeperId, holderKeeperId } = row;
  const side = speaksFor(viewer, askerKeeperId) ? 'asker' : speaksFor(viewer, holderKeeperId) ? 'holder' : null;
  if (side === null && (actsFor(viewer, askerKeeperId) || actsFor(viewer, holderKeeperId))) throw guardianSpeaks();
  if (side === null) return null;
  const last = await tx.db.askMessage.findFirst({
    where: { threadId: id, side: 'holder' },
    orderBy: [{ sentAt: 'desc' }, { id: 'desc' }],
    select: { sentAt: true },
  });
  const [messages, unanswered] = [
    await tx.db.askMessage.count({ where: { threadId: id } }),
    await tx.db.askMessage.count({
      where: { threadId: id, side: 'asker', ...(last === null ? {} : { sentAt: { gt: last.sentAt } }) },
    }),
  ];
  return {
    id,
    animalId: row.animalId,
    side,
    otherKeeperId: side === 'asker' ? row.holderKeeperId : row.askerKeeperId,
    closed: row.closedAt !== null,
    revealed: row.revealedAt !== null,
    messages,
    unanswered,
  };
}

/** Adds a message to a locked thread; its side has read what came before. Gives its id. */
export async function writeMessage(
  tx: Tx,
  thread: Pick<LockedThread, 'id' | 'side'>,
  text: string,
  reveal: boolean,
): Promise<string> {
  await tx.db.askThread.update({
    where: { id: thread.id },
    data: { lastMessageAt: tx.now, ...readBy(thread.side, tx.now), ...(reveal ? { revealedAt: tx.now } : {}) },
  });
  return insertMessage(tx, thread.id, thread.side, text);
}

/** Closes a locked thread. */
export async function closeThreadRow(tx: Tx, thread: Pick<LockedThread, 'id' | 'side'>): Promise<void> {
  await tx.db.askThread.update({ where: { id: thread.id }, data: { closedAt: tx.now, closedBy: thread.side } });
}

/** Notes that a side has read a locked thread up to now. */
export async function markRead(tx: Tx, thread: Pick<LockedThread, 'id' | 'side'>): Promise<void> {
  await tx.db.askThread.update({ where: { id: thread.id }, data: readBy(thread.side, tx.now) });
}

function readBy(side: ThreadSide, at: Date) {
  return side === 'asker' ? { askerReadAt: at } : { holderReadAt: at };
}

async function insertMessage(tx: Tx, threadId: string, side: ThreadSide, text: string): Promise<string> {
  const id = uuid();
  await tx.db.askMessage.create({ data: { id, threadId, side, text, sentAt: tx.now } });
  return id;
}
