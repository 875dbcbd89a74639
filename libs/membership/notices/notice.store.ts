import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { type Day, dayOf } from '../../kernel/index.js';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { type MomentKey, olderThan } from './mail.store.js';
import { noticeMail } from './notice-mail.core.js';
import { type MailPace, noticeGroup, type NoticeGroup, paceOf } from './notice-group.core.js';
import { findChoices } from './mail-choice.store.js';

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

type WrittenNotice = NewNotice & { readonly id: string };

const NOTHING_CHOSEN: ReadonlyMap<NoticeGroup, MailPace> = new Map();

/** The last notice of a page: the next page goes on after it. */
export type NoticeKey = MomentKey;

/** What keepers should know. What follows by mail is left in the same transaction. */
@Injectable()
export class NoticeStore {
  constructor(private readonly database: Database) {}

  /** Writes a notice and returns its id; null when one with this `dedupeKey` exists, and for a keeper that was forgotten. */
  async write(tx: Tx, notice: NewNotice): Promise<string | null> {
    return (await this.writeMany(tx, [notice])).get(notice.dedupeKey) ?? null;
  }

  /** Writes many at once, in three statements. Gives the ids of those written by `dedupeKey`; one whose key exists is left out, and one to a keeper that was forgotten. */
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
      JOIN keeper k ON k.id = r.keeper_id AND k.forgotten_at IS NULL
      FOR KEY SHARE OF k
      ON CONFLICT (dedupe_key) DO NOTHING
      RETURNING id, dedupe_key AS "dedupeKey"`;
    const ids = new Map(written.map(({ id, dedupeKey }) => [dedupeKey, id]));
    await leaveMails(
      tx,
      notices.flatMap((notice) => {
        const id = ids.get(notice.dedupeKey);
        return id === undefined ? [] : [{ ...notice, id }];
      }),
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

/**
 * For each account that acts for a keeper now, as it chose for the notice's group: a mail, a place in its next daily mail, or
 * nothing. The key of a mail is its notice's key and the account.
 */
async function leaveMails(tx: Tx, notices: readonly WrittenNotice[]): Promise<void> {
  if (notices.length === 0) return;
  const keeperIds = [...new Set(notices.map(({ keeperId }) => keeperId))];
  const members = await tx.db.$queryRaw<{ keeperId: string; accountId: string }[]>`
    SELECT m.keeper_id AS "keeperId", m.account_id AS "accountId" FROM keeper_member m JOIN keeper k ON k.id = m.keeper_id
    WHERE m.keeper_id = ANY(${keeperIds}::uuid[]) AND m.ended_at IS NULL
      AND (m.role <> 'guardian' OR k.minor_until > ${tx.today}::date)`;
  const accounts = new Map<string, string[]>();
  for (const { keeperId, accountId } of members) accounts.set(keeperId, [...(accounts.get(keeperId) ?? []), accountId]);
  const choices = await findChoices(tx.db, [...new Set(members.map(({ accountId }) => accountId))]);
  const told = notices.flatMap((notice) =>
    (accounts.get(notice.keeperId) ?? []).map((accountId) => {
      const pace = paceOf(notice.kind, choices.get(accountId) ?? NOTHING_CHOSEN);
      return { notice, accountId, pace };
    }),
  );
  const rows = told
    .filter(({ pace }) => pace === 'at_once')
    .map(({ notice, accountId }) => ({
      id: uuid(),
      account_id: accountId,
      dedupe_key: `${notice.dedupeKey}:${accountId}`,
      notice_group: noticeGroup(notice.kind),
      ...noticeMail(notice, tx.today),
    }));
  if (rows.length > 0)
    await tx.db.$executeRaw`
      INSERT INTO mail_message (id, account_id, subject, text, dedupe_key, notice_group, created_at)
      SELECT r.id, r.account_id, r.subject, r.text, r.dedupe_key, r.notice_group, ${tx.now}
      FROM jsonb_to_recordset(${JSON.stringify(rows)}::jsonb)
        AS r(id uuid, account_id uuid, subject text, text text, dedupe_key text, notice_group notice_group)
      ON CONFLICT (dedupe_key) DO NOTHING`;
  const daily = told.filter(({ pace }) => pace === 'daily');
  if (daily.length > 0)
    await tx.db.digestItem.createMany({
      data: daily.map(({ notice, accountId }) => ({ accountId, noticeId: notice.id })),
    });
}
