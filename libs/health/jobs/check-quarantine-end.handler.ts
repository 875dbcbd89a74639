import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { day as toDay } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { QUARANTINE_CAUTION } from '../core/caution.core.js';
import { endsReached } from '../core/quarantine.core.js';
import { readQuarantines } from '../store/quarantine-read.store.js';
import { lockQuarantines } from '../store/quarantine-write.store.js';
import { checkQuarantineEnd, nightlyKey, QUARANTINE_ENDS, quarantineEndsNotice } from './check-quarantine-end.job.js';
import { findEndCandidates } from './system-quarantine.store.js';

type Payload = z.infer<typeof checkQuarantineEnd.payload>;

/** Groups a transaction judges at most. */
const BATCH = 500;

const endNoticed = defineLedgerAction(
  'health.quarantine-end-noticed',
  1,
  z.strictObject({
    day: z.iso.date(),
    notices: z.array(z.strictObject({ groupId: z.uuid(), noticeId: z.uuid(), endsOn: z.iso.date() })),
  }),
);

/**
 * Writes one notice for each group and end day once that day has come, never before: until then a newcomer may still
 * restart the clock, and the end that is not reached any more is never told. The groups are locked before they are judged,
 * so that an animal joining at the same moment is either seen or waits.
 */
@Injectable()
export class CheckQuarantineEndHandler implements JobHandler<Payload> {
  readonly job = checkQuarantineEnd;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { day, groupId, after }: Payload): Promise<void> {
    const on = toDay(day);
    const ids = groupId === null ? await findEndCandidates(tx, on, after, BATCH) : [groupId];
    await lockQuarantines(tx, ids);
    const groups = await readQuarantines(tx.db, ids);
    const due = groups.flatMap((group) =>
      endsReached(group, on).map((end) => ({ group, end, key: keyOf(group.id, end.on) })),
    );
    const written = await this.notices.writeMany(
      tx,
      due.map(({ group, end, key }) => ({
        keeperId: group.keeperId,
        kind: QUARANTINE_ENDS,
        body: quarantineEndsNotice.parse({
          groupId: group.id,
          registerNumbers: group.entries
            .filter(({ animalId }) => end.animalIds.includes(animalId))
            .map(({ registerNumber }) => registerNumber),
          days: group.days,
          source: group.daysSource,
          caution: QUARANTINE_CAUTION,
        }),
        dueOn: end.on,
        dedupeKey: key,
      })),
    );
    const notices = due.flatMap(({ group, end, key }) => {
      const noticeId = written.get(key);
      return noticeId === undefined ? [] : [{ groupId: group.id, noticeId, endsOn: end.on }];
    });
    if (notices.length > 0)
      await tx.ledger.append(endNoticed, { subjects: notices.map((notice) => notice.groupId), body: { day, notices } });
    const last = ids.at(-1);
    if (groupId !== null || ids.length < BATCH || last === undefined) return;
    await tx.outbox.send(checkQuarantineEnd, { day, groupId, after: last }, { dedupeKey: nightlyKey(on, last) });
  }
}

function keyOf(groupId: string, endsOn: string): string {
  return `${QUARANTINE_ENDS}:${groupId}:${endsOn}`;
}
