import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { day as toDay } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { checkExpiry, DOCUMENT_EXPIRY, documentExpiryNotice } from './check-expiry.job.js';
import { findDueWarnings } from './system-expiry.store.js';

type Payload = z.infer<typeof checkExpiry.payload>;

/** Warnings a transaction writes at most: a first night with many stays within its time. */
const BATCH = 5_000;

const CAUTION =
  'A reminder of the days you recorded, not legal advice: the licensing authority decides what you may hold.';

const expiryNoticed = defineLedgerAction(
  'document.expiry-noticed',
  1,
  z.strictObject({
    day: z.iso.date(),
    notices: z.array(
      z.strictObject({ documentId: z.uuid(), noticeId: z.uuid(), slot: documentExpiryNotice.shape.slot }),
    ),
  }),
);

/** Tells keepers of documents that lapse in 90, 30 and 7 days or have lapsed: each once for a paper and its last day. */
@Injectable()
export class CheckExpiryHandler implements JobHandler<Payload> {
  readonly job = checkExpiry;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { day, documentId, batch }: Payload): Promise<void> {
    const due = await findDueWarnings(tx, toDay(day), documentId, BATCH);
    if (due.length === 0) return;
    const ids = await this.notices.writeMany(
      tx,
      due.map(({ keeperId, dedupeKey, ...warning }) => ({
        keeperId,
        kind: DOCUMENT_EXPIRY,
        body: documentExpiryNotice.parse({
          documentId: warning.documentId,
          slot: warning.slot,
          validUntil: warning.validUntil,
          caution: CAUTION,
        }),
        dueOn: warning.validUntil,
        dedupeKey,
      })),
    );
    const written = due.flatMap((warning) => {
      const noticeId = ids.get(warning.dedupeKey);
      return noticeId === undefined ? [] : [{ documentId: warning.documentId, noticeId, slot: warning.slot }];
    });
    if (written.length > 0) {
      const subjects = written.map((notice) => notice.documentId);
      await tx.ledger.append(expiryNoticed, { subjects, body: { day, notices: written } });
    }
    if (due.length < BATCH) return;
    const next = { day, documentId, batch: batch + 1 };
    await tx.outbox.send(checkExpiry, next, { dedupeKey: `${checkExpiry.name}:${day}:${next.batch}` });
  }
}
