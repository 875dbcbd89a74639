import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { formatRegisterNumber, type RegisterNumber } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { tellTheft, THEFT_NOTICES, theftNotice } from './tell-theft.job.js';

type Payload = z.infer<typeof tellTheft.payload>;

const told = defineLedgerAction(
  'custody.theft-told',
  1,
  z.strictObject({ reportId: z.uuid(), noticeId: z.uuid(), what: z.enum(['reported', 'replied', 'closed']) }),
);

const REMEDIES: Readonly<Record<Payload['what'], string>> = {
  reported:
    'An owner states that this animal was stolen. That is a statement, not a finding: you may state your side once. What the law says of it, the authorities decide.',
  replied: 'The other side has stated its own view. Both statements stand beside each other.',
  closed: 'The report was closed. Nothing is left to do.',
};

/** Writes the other side one notice. */
@Injectable()
export class TellTheftHandler implements JobHandler<Payload> {
  readonly job = tellTheft;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { reportId, what }: Payload): Promise<void> {
    const report = await tx.db.theftReport.findUnique({
      where: { id: reportId },
      include: { animal: { select: { registerNumber: true } } },
    });
    if (report === null) return;
    const keeperId = what === 'replied' ? report.keeperId : report.respondentId;
    if (keeperId === null) return;
    const noticeId = await this.notices.write(tx, {
      keeperId,
      kind: THEFT_NOTICES[what],
      body: theftNotice.parse({
        reportId,
        registerNumber: formatRegisterNumber(report.animal.registerNumber as RegisterNumber),
        remedy: REMEDIES[what],
      }),
      dueOn: null,
      dedupeKey: `${THEFT_NOTICES[what]}:${reportId}`,
    });
    if (noticeId === null) return;
    await tx.ledger.append(told, { subjects: [report.animalId], body: { reportId, noticeId, what } });
  }
}
