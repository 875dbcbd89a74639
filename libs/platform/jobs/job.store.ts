import { type Db, Prisma } from '../prisma/client.js';
import { type MessageFacts } from './job-handler.js';

/** A message as stored; `payload` is still to be checked. */
export type StoredMessage = MessageFacts & {
  readonly job: string;
  readonly schemaVersion: number;
  readonly payload: unknown;
  readonly requestId: string | null;
};

/** Longest error text that is kept. */
const ERROR_LENGTH = 2_000;

export async function findMessage(db: Db, id: string): Promise<StoredMessage | null> {
  return db.outboxMessage.findUnique({
    where: { id },
    select: {
      id: true,
      job: true,
      schemaVersion: true,
      payload: true,
      actorId: true,
      requestId: true,
      createdAt: true,
    },
  });
}

/** Writes the receipt of a message. False when it has one: the work is done already. */
export async function claimReceipt(db: Db, messageId: string, handler: string, at: Date): Promise<boolean> {
  const written = await db.$executeRaw`
    INSERT INTO job_receipt (message_id, handler, at) VALUES (${messageId}::uuid, ${handler}, ${at}) ON CONFLICT DO NOTHING`;
  return written === 1;
}

/** Puts a message on the operator's list, once; one that has its receipt is not put there. */
export async function recordFailure(
  db: Db,
  failure: { messageId: string; job: string; payload: unknown; error: string },
): Promise<void> {
  const { messageId, job, error } = failure;
  const payload = failure.payload === null ? Prisma.JsonNull : (failure.payload as object);
  const receipts = await db.jobReceipt.count({ where: { messageId } });
  if (receipts > 0) return;
  await db.jobFailure.createMany({
    data: [{ messageId, job, payload, error: error.slice(0, ERROR_LENGTH), at: new Date() }],
    skipDuplicates: true,
  });
}

/** Takes a message off the list when it worked after all. */
export async function clearFailure(db: Db, messageId: string): Promise<void> {
  await db.jobFailure.deleteMany({ where: { messageId } });
}
