import { v7 as uuid } from 'uuid';
import { type Tx } from '../../platform/prisma/index.js';
import { type NoticeMail } from '../notices/notice-mail.core.js';

/** A notice that goes into an account's daily mail. */
export type DigestNotice = {
  readonly accountId: string;
  readonly kind: string;
  readonly count: number;
  /** Earliest due day of those notices, `YYYY-MM-DD`. */
  readonly dueOn: string | null;
};

const mailKey = (accountId: string, day: string): string => `digest:${accountId}:${day}`;

/** Accounts with notices that wait, after the one given, in order; not those that have had their mail of the day. */
export async function findWaiting(tx: Tx, day: string, after: string | null, limit: number): Promise<string[]> {
  const rows = await tx.db.$queryRaw<{ id: string }[]>`
    SELECT a.id FROM account a
    WHERE (${after}::uuid IS NULL OR a.id > ${after}::uuid)
      AND EXISTS (SELECT 1 FROM digest_item d WHERE d.account_id = a.id)
      AND NOT EXISTS (SELECT 1 FROM mail_message m WHERE m.dedupe_key = 'digest:' || a.id || ':' || ${day})
    ORDER BY a.id LIMIT ${limit}`;
  return rows.map(({ id }) => id);
}

/** Takes what waits for the accounts out of the list; what is of a keeper they act for no more is dropped. By account and kind. */
export async function takeWaiting(tx: Tx, accountIds: readonly string[]): Promise<DigestNotice[]> {
  return tx.db.$queryRaw<DigestNotice[]>`
    WITH taken AS (DELETE FROM digest_item WHERE account_id = ANY(${accountIds}::uuid[]) RETURNING account_id, notice_id)
    SELECT t.account_id AS "accountId", n.kind, count(*)::int AS count, min(n.due_on)::text AS "dueOn"
    FROM taken t JOIN notice n ON n.id = t.notice_id
    JOIN keeper_member m ON m.keeper_id = n.keeper_id AND m.account_id = t.account_id AND m.ended_at IS NULL
    GROUP BY t.account_id, n.kind ORDER BY t.account_id, n.kind`;
}

/** Puts daily mails into the outbox, one an account and day. */
export async function insertDigests(tx: Tx, day: string, mails: ReadonlyMap<string, NoticeMail>): Promise<void> {
  await tx.db.mailMessage.createMany({
    data: [...mails].map(([accountId, mail]) => ({
      id: uuid(),
      accountId,
      digest: true,
      ...mail,
      dedupeKey: mailKey(accountId, day),
      createdAt: tx.now,
      dueAt: tx.now,
    })),
  });
}
