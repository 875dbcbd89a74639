import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { type Day, dayOf } from '../../kernel/index.js';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { type MomentKey, olderThan } from './mail.store.js';
import { noticeMail } from '../core/notice-mail.core.js';

/** A notice to write. `dedupeKey` names what it is about: a second one with the same key is not written. */
export type NewNotice = {
  readonly keeperId: string;
  /** Tells the reader which schema `body` has, for example `arrival_quarantine`. */
  readonly kind: string;
  readonly body: object;
  readonly dueOn: Day | null;
  readonly dedupeKey: string;
};

/** A notice as stored; `body` is checked by the schema of its kind. */
export type Notice = {
  readonly id: string;
  readonly keeperId: string;
  readonly kind: string;
  readonly body: unknown;
  readonly dueOn: Day | null;
  readonly createdAt: Date;
};

/** The last notice of a page: the next page goes on after it. */
export type NoticeKey = MomentKey;

/** What keepers should know. Each notice leaves a mail for every account that acts for the keeper, in the same transaction. */
@Injectable()
export class NoticeStore {
  constructor(private readonly database: Database) {}

  /** Writes a notice and returns its id; null when one with this `dedupeKey` exists. */
  async write(tx: Tx, notice: NewNotice): Promise<string | null> {
    return (await this.writeMany(tx, [notice])).get(notice.dedupeKey) ?? null;
  }

  /** Writes many at once, in three statements. Gives the ids of those written by `dedupeKey`; one whose key exists is left out. */
  async writeMany(tx: Tx, notices: readonly NewNotice[]): Promise<Map<string, string>> {
    if (notices.length === 0) return new Map();
    const rows = notices.map((notice) => ({
      id: uuid(),
      keeper_id: notice.keeperId,
      kind: notice.kind,
      body: notice.body,
      due_on: notice.dueOn,
      dedupe_key: notice.dedupeKey,
    }));
    const written = await tx.db.$queryRaw<{ id: string; dedupeKey: string }[]>`
      INSERT INTO notice (id, keeper_id, kind, body, due_on, dedupe_key, created_at)
      SELECT r.id, r.keeper_id, r.kind, r.body, r.due_on, r.dedupe_key, ${tx.now}
      FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb)
        AS r(id uuid, keeper_id uuid, kind text, body jsonb, due_on date, dedupe_key text)
      ON CONFLICT (dedupe_key) DO NOTHING
      RETURNING id, dedupe_key AS "dedupeKey"`;
    const ids = new Map(written.map(({ id, dedupeKey }) => [dedupeKey, id]));
    await leaveMails(
      tx,
      notices.filter(({ dedupeKey }) => ids.has(dedupeKey)),
    );
    return ids;
  }

  /** A keeper's notices, newest first, at most `limit`, after the one given. */
  async list(keeperId: string, after: NoticeKey | null, limit: number): Promise<Notice[]> {
    const rows = await this.database.client.notice.findMany({
      where: { keeperId, ...olderThan(after) },
      orderBy: [{ createdAt: 'desc' }, { id: 'desc' }],
      take: limit,
      select: { id: true, keeperId: true, kind: true, body: true, dueOn: true, createdAt: true },
    });
    return rows.map((row) => ({ ...row, dueOn: row.dueOn === null ? null : dayOf(row.dueOn) }));
  }
}

/** One mail for each account that acts for the keeper now. The key of a mail is its notice's key and the account. */
async function leaveMails(tx: Tx, notices: readonly NewNotice[]): Promise<void> {
  if (notices.length === 0) return;
  const keeperIds = [...new Set(notices.map(({ keeperId }) => keeperId))];
  const members = await tx.db.$queryRaw<{ keeperId: string; accountId: string }[]>`
    SELECT keeper_id AS "keeperId", account_id AS "accountId" FROM keeper_member
    WHERE keeper_id = ANY(${keeperIds}::uuid[]) AND ended_at IS NULL`;
  const accounts = new Map<string, string[]>();
  for (const { keeperId, accountId } of members) accounts.set(keeperId, [...(accounts.get(keeperId) ?? []), accountId]);
  const rows = notices.flatMap((notice) =>
    (accounts.get(notice.keeperId) ?? []).map((accountId) => ({
      id: uuid(),
      account_id: accountId,
      dedupe_key: `${notice.dedupeKey}:${accountId}`,
      ...noticeMail(notice, tx.today),
    })),
  );
  await tx.db.$executeRaw`
    INSERT INTO mail_message (id, account_id, subject, text, dedupe_key, created_at)
    SELECT r.id, r.account_id, r.subject, r.text, r.dedupe_key, ${tx.now}
    FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb)
      AS r(id uuid, account_id uuid, subject text, text text, dedupe_key text)
    ON CONFLICT (dedupe_key) DO NOTHING`;
}
