import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { findArrivalQuarantine, groupEnd, QUARANTINE_CAUTION } from '../../health/index.js';
import { NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import {
  ARRIVAL_QUARANTINE,
  arrivalQuarantineNotice,
  remindArrivalQuarantine,
} from './remind-arrival-quarantine.job.js';

type Payload = z.infer<typeof remindArrivalQuarantine.payload>;

const reminded = defineLedgerAction(
  'transfer.arrival-quarantine-reminded',
  1,
  z.strictObject({ noticeId: z.uuid(), keeperId: z.uuid(), days: z.int(), dueOn: z.iso.date() }),
);

/** Writes the one notice a keeper gets about the quarantine that the arrivals of a transfer opened; nothing when they opened none. */
@Injectable()
export class RemindArrivalQuarantineHandler implements JobHandler<Payload> {
  readonly job = remindArrivalQuarantine;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { transferId, keeperId }: Payload): Promise<void> {
    const group = await findArrivalQuarantine(tx.db, transferId);
    if (group?.keeperId !== keeperId) return;
    const { id: groupId, days, daysSource: source } = group;
    // Who came by the transfer, not who may have joined since.
    const arrived = group.entries.filter(({ recordedAt }) => recordedAt.getTime() === group.openedAt.getTime());
    const registerNumbers = arrived.map(({ registerNumber }) => registerNumber).sort();
    const dueOn = groupEnd(group, tx.today);
    if (dueOn === null) return;
    const noticeId = await this.notices.write(tx, {
      keeperId,
      kind: ARRIVAL_QUARANTINE,
      body: arrivalQuarantineNotice.parse({
        transferId,
        groupId,
        registerNumbers,
        days,
        source,
        caution: QUARANTINE_CAUTION,
      }),
      dueOn,
      dedupeKey: `${ARRIVAL_QUARANTINE}:${transferId}:${keeperId}`,
    });
    if (noticeId === null) return;
    await tx.ledger.append(reminded, { subjects: [transferId], body: { noticeId, keeperId, days, dueOn } });
  }
}
