import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { type Day, dayOf } from '../kernel/index.js';
import { Database, type Tx } from '../platform/prisma/index.js';

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
export type NoticeKey = { readonly createdAt: Date; readonly id: string };

/** What keepers should know. */
@Injectable()
export class NoticeStore {
  constructor(private readonly database: Database) {}

  /** Writes a notice and returns its id; null when one with this `dedupeKey` exists. */
  async write(tx: Tx, notice: NewNotice): Promise<string | null> {
    const id = uuid({ msecs: tx.now.getTime() });
    const { count } = await tx.db.notice.createMany({
      data: [{ ...notice, id, dueOn: notice.dueOn === null ? null : new Date(notice.dueOn), createdAt: tx.now }],
      skipDuplicates: true,
    });
    return count === 1 ? id : null;
  }

  /** A keeper's notices, newest first, at most `limit`, after the one given. */
  async list(keeperId: string, after: NoticeKey | null, limit: number): Promise<Notice[]> {
    const rows = await this.database.client.notice.findMany({
      where: {
        keeperId,
        ...(after === null
          ? {}
          : { OR: [{ createdAt: { lt: after.createdAt } }, { createdAt: after.createdAt, id: { lt: after.id } }] }),
      },
      orderBy: [{ createdAt: 'desc' }, { id: 'desc' }],
      take: limit,
      select: { id: true, keeperId: true, kind: true, body: true, dueOn: true, createdAt: true },
    });
    return rows.map((row) => ({ ...row, dueOn: row.dueOn === null ? null : dayOf(row.dueOn) }));
  }
}
