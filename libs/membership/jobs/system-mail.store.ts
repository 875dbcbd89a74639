import { type PrismaClient } from '../../platform/prisma/index.js';
import { type NoticeGroup } from '../notices/notice-group.core.js';

/** A mail that one sender has to itself for a while. */
export type WaitingMail = {
  readonly id: string;
  readonly to: string;
  readonly accountId: string | null;
  /** The group of notices it is about; null where it is about an account, safety, or all of a day. */
  readonly group: NoticeGroup | null;
  readonly digest: boolean;
  readonly subject: string;
  readonly text: string;
  /** Tries so far, this one included. */
  readonly attempts: number;
};

/** Tries before a mail is given up. */
export const MOST_ATTEMPTS = 10;
/** Days after which a notice is old news: it is still in the registry. */
const OLD_NEWS_DAYS = 7;

/**
 * Takes mails that are due, oldest first, and keeps other senders off them for five minutes: a sender that is killed has
 * them sent again after that. Notices wait until the address is confirmed: a mistyped one may be a stranger's.
 */
export async function takeMails(client: PrismaClient, now: Date, limit: number): Promise<WaitingMail[]> {
  const busyUntil = new Date(now.getTime() + 5 * 60_000);
  const oldest = new Date(now.getTime() - OLD_NEWS_DAYS * 86_400_000);
  return client.$queryRaw<WaitingMail[]>`
    WITH due AS (
      SELECT m.id FROM mail_message m LEFT JOIN account a ON a.id = m.account_id
      WHERE m.sent_at IS NULL AND m.due_at <= ${now} AND m.attempts < ${MOST_ATTEMPTS}
        AND (m.kind = 'account' OR (a.email_confirmed_at IS NOT NULL AND m.created_at > ${oldest}))
      ORDER BY m.due_at, m.id LIMIT ${limit} FOR UPDATE OF m SKIP LOCKED)
    UPDATE mail_message m SET due_at = ${busyUntil}, attempts = m.attempts + 1
    FROM due WHERE m.id = due.id
    RETURNING m.id, coalesce(m.address, (SELECT a.email FROM account a WHERE a.id = m.account_id)) AS "to", m.subject, m.text, m.attempts,
      m.account_id AS "accountId", m.notice_group::text AS "group", m.digest`;
}

/** The server has taken it. The text of a mail with a code is not kept any longer. */
export async function markSent(client: PrismaClient, id: string, now: Date): Promise<void> {
  await client.$executeRaw`
    UPDATE mail_message SET sent_at = ${now}, last_error = NULL, text = CASE WHEN kind = 'account' THEN '' ELSE text END
    WHERE id = ${id}::uuid`;
}

/** It could not be sent; `dueAt` null gives it up. */
export async function markFailed(client: PrismaClient, id: string, error: string, dueAt: Date | null): Promise<void> {
  await client.mailMessage.update({
    where: { id },
    data: { lastError: error.slice(0, 500), ...(dueAt === null ? { attempts: MOST_ATTEMPTS } : { dueAt }) },
  });
}
