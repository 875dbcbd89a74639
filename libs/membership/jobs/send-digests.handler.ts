import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { day as toDay } from '../../kernel/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { paceOf } from '../notices/notice-group.core.js';
import { digestMail, type DigestLine } from '../notices/notice-mail.core.js';
import { findChoices } from '../notices/mail-choice.store.js';
import { digestKey, sendDigests } from './send-digests.job.js';
import { findWaiting, insertDigests, takeWaiting } from './system-digest.store.js';

type Payload = z.infer<typeof sendDigests.payload>;

/** Accounts a transaction writes to at most. */
const BATCH = 200;

/**
 * Writes each account that chose so one mail a day about all notices that wait for it. The mail is written and the notices are
 * taken off the list in one transaction: killed at any moment, nothing is lost and nothing is told twice.
 */
@Injectable()
export class SendDigestsHandler implements JobHandler<Payload> {
  readonly job = sendDigests;

  async handle(tx: Tx, { day, after }: Payload): Promise<void> {
    const accountIds = await findWaiting(tx, day, after, BATCH);
    const last = accountIds.at(-1);
    if (last === undefined) return;
    const choices = await findChoices(tx.db, accountIds);
    const lines = new Map<string, DigestLine[]>();
    for (const { accountId, kind, count, dueOn } of await takeWaiting(tx, accountIds)) {
      // What was chosen since then counts: who wants none any more gets none of what waited either.
      if (paceOf(kind, choices.get(accountId) ?? new Map()) === 'none') continue;
      const line = { kind, count, dueOn: dueOn === null ? null : toDay(dueOn) };
      lines.set(accountId, [...(lines.get(accountId) ?? []), line]);
    }
    const mails = [...lines].map(([accountId, said]) => [accountId, digestMail(said, tx.today)] as const);
    await insertDigests(tx, day, new Map(mails));
    if (accountIds.length < BATCH) return;
    await tx.outbox.send(sendDigests, { day, after: last }, { dedupeKey: digestKey(day, last) });
  }
}
