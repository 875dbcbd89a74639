import { Inject, Injectable } from '@nestjs/common';
import { CONFIG, type Config } from '../../platform/config/index.js';
import { Database } from '../../platform/prisma/index.js';

/** A mail to an account, as it lies in the outbox. */
export type Mail = {
  readonly id: string;
  readonly subject: string;
  readonly text: string;
  readonly createdAt: Date;
  /** Null while it waits in the outbox. */
  readonly sentAt: Date | null;
};

/** The last row of a page of notices or mails: the next page goes on after it. */
export type MomentKey = { readonly createdAt: Date; readonly id: string };

/** Prisma's condition for rows after a key, newest first. */
export function olderThan(after: MomentKey | null) {
  if (after === null) return {};
  return { OR: [{ createdAt: { lt: after.createdAt } }, { createdAt: after.createdAt, id: { lt: after.id } }] };
}

/** Reads the mail outbox. Mails are written with their notices by `NoticeStore`. */
@Injectable()
export class MailStore {
  constructor(
    private readonly database: Database,
    @Inject(CONFIG) private readonly config: Pick<Config, 'demo'>,
  ) {}

  /**
   * An account's mails, newest first, at most `limit`, after the one given. Mails with a code are shown in the demo only, where
   * nobody's mailbox is behind an address: elsewhere they would prove nothing.
   */
  async list(accountId: string, after: MomentKey | null, limit: number): Promise<Mail[]> {
    return this.database.client.mailMessage.findMany({
      where: { accountId, ...(this.config.demo ? {} : { kind: 'notice' as const }), ...olderThan(after) },
      orderBy: [{ createdAt: 'desc' }, { id: 'desc' }],
      take: limit,
      select: { id: true, subject: true, text: true, createdAt: true, sentAt: true },
    });
  }
}
