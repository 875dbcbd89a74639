import { Injectable } from '@nestjs/common';
import { Database, type Db, type Tx } from '../../platform/prisma/index.js';
import { type MailChoice, type MailPace, type NoticeGroup } from './notice-group.core.js';

/** What accounts chose, by account and group. */
export async function findChoices(
  db: Db,
  accountIds: readonly string[],
): Promise<Map<string, Map<NoticeGroup, MailPace>>> {
  const rows = await db.mailChoice.findMany({ where: { accountId: { in: [...accountIds] } } });
  const found = new Map<string, Map<NoticeGroup, MailPace>>();
  for (const { accountId, group, pace } of rows) {
    found.set(accountId, (found.get(accountId) ?? new Map<NoticeGroup, MailPace>()).set(group, pace));
  }
  return found;
}

/** Puts choices down. Those that are there for the same groups are replaced. */
export async function saveChoices(tx: Tx, accountId: string, choices: readonly MailChoice[]): Promise<void> {
  for (const { group, pace } of choices) {
    const where = { accountId_group: { accountId, group } };
    await tx.db.mailChoice.upsert({ where, create: { accountId, group, pace }, update: { pace } });
  }
}

/** Ends the daily mail of an account: no group is mailed daily any more. Gives the groups that were. */
export async function endDaily(tx: Tx, accountId: string): Promise<NoticeGroup[]> {
  const where = { accountId, pace: 'daily' as const };
  const daily = await tx.db.mailChoice.findMany({ where, select: { group: true } });
  await tx.db.mailChoice.updateMany({ where, data: { pace: 'none' } });
  return daily.map(({ group }) => group);
}

/** Reads what the own account chose. */
@Injectable()
export class MailChoiceStore {
  constructor(private readonly database: Database) {}

  async find(accountId: string): Promise<ReadonlyMap<NoticeGroup, MailPace>> {
    return (await findChoices(this.database.client, [accountId])).get(accountId) ?? new Map<NoticeGroup, MailPace>();
  }
}
