import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { arrivalQuarantine } from '../core/arrival-quarantine.core.js';
import { findReceived } from '../store/arrival-quarantine.store.js';
import {
  ARRIVAL_QUARANTINE,
  arrivalQuarantineNotice,
  remindArrivalQuarantine,
} from './remind-arrival-quarantine.job.js';

type Payload = z.infer<typeof remindArrivalQuarantine.payload>;

const CAUTION =
  'A reminder, not advice: your veterinarian and the rules of your country decide how long newcomers are kept apart and which tests they need.';

const reminded = defineLedgerAction(
  'transfer.arrival-quarantine-reminded',
  1,
  z.strictObject({ noticeId: z.uuid(), keeperId: z.uuid(), days: z.int(), dueOn: z.iso.date() }),
);

/** Writes the one notice a keeper gets about the arrivals of a transfer; nothing when no animal arrived alive. */
@Injectable()
export class RemindArrivalQuarantineHandler implements JobHandler<Payload> {
  readonly job = remindArrivalQuarantine;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { transferId, keeperId }: Payload): Promise<void> {
    const received = await findReceived(tx, transferId, keeperId);
    const quarantine = received && arrivalQuarantine(received.receivedOn, received.items);
    if (quarantine === null) return;
    const { registerNumbers, days, dueOn, longestFor, source } = quarantine;
    const noticeId = await this.notices.write(tx, {
      keeperId,
      kind: ARRIVAL_QUARANTINE,
      body: arrivalQuarantineNotice.parse({ transferId, registerNumbers, days, longestFor, source, caution: CAUTION }),
      dueOn,
      dedupeKey: `${ARRIVAL_QUARANTINE}:${transferId}:${keeperId}`,
    });
    if (noticeId === null) return;
    await tx.ledger.append(reminded, { subjects: [transferId], body: { noticeId, keeperId, days, dueOn } });
  }
}
