import { Injectable } from '@nestjs/common';
import { Database, type Tx } from '../../platform/prisma/index.js';

/** Unread notices that are counted at most; more are as good as this many. */
export const MOST_UNREAD = 1_000;

/** Which notices an account has read. Each account of a keeper reads for itself. */
@Injectable()
export class NoticeReadStore {
  constructor(private readonly database: Database) {}

  /** Those of the notices that the account has read. */
  async findRead(accountId: string, noticeIds: readonly string[]): Promise<Set<string>> {
    const where = { accountId, noticeId: { in: [...noticeIds] } };
    const rows = await this.database.client.noticeRead.findMany({ where, select: { noticeId: true } });
    return new Set(rows.map(({ noticeId }) => noticeId));
  }

  /** Notices of a keeper that the account has not read, counted up to 1,000. */
  async countUnread(accountId: string, keeperId: string): Promise<number> {
    const [row] = await this.database.client.$queryRaw<{ unread: number }[]>`
      SELECT count(*)::int AS unread FROM (
        SELECT 1 FROM notice n WHERE n.keeper_id = ${keeperId}::uuid
          AND NOT EXISTS (SELECT 1 FROM notice_read r WHERE r.notice_id = n.id AND r.account_id = ${accountId}::uuid)
        LIMIT ${MOST_UNREAD}) u`;
    return row?.unread ?? 0;
  }
}

/** Notes that an account has read notices of a keeper: those named, or all there are. Gives how many were unread. */
export async function markRead(
  tx: Tx,
  accountId: string,
  keeperId: string,
  noticeIds: readonly string[] | null,
): Promise<number> {
  return tx.db.$executeRaw`
    INSERT INTO notice_read (account_id, notice_id, read_at)
    SELECT ${accountId}::uuid, n.id, ${tx.now} FROM notice n
    WHERE n.keeper_id = ${keeperId}::uuid AND (${noticeIds === null} OR n.id = ANY(${noticeIds ?? []}::uuid[]))
    ON CONFLICT DO NOTHING`;
}
