import { type Db } from '../prisma/client.js';

/** A message as the relay sees it. */
export type WaitingMessage = { readonly id: string; readonly job: string };

/** A message handed to the queue long ago of which nothing came back. `dispatchedAt`: PostgreSQL's text, exact. */
export type SilentMessage = { readonly id: string; readonly dispatchedAt: string };

/** Longest error text that is kept. */
const ERROR_LENGTH = 500;

/**
 * Locks the next messages that are due, oldest first, and leaves those another relay has locked. Selected by the null
 * flag, never by "later than the last one seen": commit order is not id order.
 */
export async function lockWaiting(db: Db, limit: number): Promise<WaitingMessage[]> {
  return db.$queryRaw<WaitingMessage[]>`
    SELECT id, job FROM outbox_message
    WHERE dispatched_at IS NULL AND available_at <= now()
    ORDER BY available_at, id LIMIT ${limit}
    FOR UPDATE SKIP LOCKED`;
}

/** Marks messages as handed to the queue. */
export async function markDispatched(db: Db, ids: readonly string[]): Promise<void> {
  await db.$executeRaw`UPDATE outbox_message SET dispatched_at = now(), last_error = NULL WHERE id = ANY(${ids}::uuid[])`;
}

/** Notes that the queue did not take the messages; they stay waiting. */
export async function markRefused(db: Db, ids: readonly string[], error: string): Promise<void> {
  await db.$executeRaw`
    UPDATE outbox_message SET attempts = attempts + 1, last_error = ${error.slice(0, ERROR_LENGTH)}
    WHERE id = ANY(${ids}::uuid[]) AND dispatched_at IS NULL`;
}

/** Messages dispatched before `before` that have neither receipt nor failure, oldest first, after `after`. */
export async function silentMessages(
  db: Db,
  before: Date,
  after: SilentMessage | null,
  limit: number,
): Promise<SilentMessage[]> {
  return db.$queryRaw<SilentMessage[]>`
    SELECT m.id, m.dispatched_at::text AS "dispatchedAt" FROM outbox_message m
    WHERE m.dispatched_at < ${before}
      AND (${after === null} OR (m.dispatched_at, m.id) > (${after?.dispatchedAt ?? null}::timestamptz, ${after?.id ?? null}::uuid))
      AND NOT EXISTS (SELECT 1 FROM job_receipt r WHERE r.message_id = m.id)
      AND NOT EXISTS (SELECT 1 FROM job_failure f WHERE f.message_id = m.id)
    ORDER BY m.dispatched_at, m.id LIMIT ${limit}`;
}

/** Lets the relay hand the message to the queue again, unless it has been answered or dispatched anew meanwhile. */
export async function reopen(db: Db, message: SilentMessage): Promise<boolean> {
  const changed = await db.$executeRaw`
    UPDATE outbox_message m SET dispatched_at = NULL, attempts = attempts + 1, last_error = 'lost by the queue, handed over again'
    WHERE m.id = ${message.id}::uuid AND m.dispatched_at = ${message.dispatchedAt}::timestamptz
      AND NOT EXISTS (SELECT 1 FROM job_receipt r WHERE r.message_id = m.id)`;
  return changed === 1;
}
