import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { type Day, dayOf } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { type JobHandler, type MessageFacts } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { tellTransfer, TRANSFER_NEWS, transferNotice, transferNoticeKind } from './tell-transfer.job.js';

type Payload = z.infer<typeof tellTransfer.payload>;

const told = defineLedgerAction(
  'transfer.other-side-told',
  1,
  z.strictObject({ transferId: z.uuid(), noticeId: z.uuid(), keeperId: z.uuid(), what: z.enum(TRANSFER_NEWS) }),
);

/** Writes the other side of a transfer a notice of each act, one for each message. */
@Injectable()
export class TellTransferHandler implements JobHandler<Payload> {
  readonly job = tellTransfer;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { transferId, keeperId, what }: Payload, message: MessageFacts): Promise<void> {
    const transfer = await tx.db.transfer.findUnique({
      where: { id: transferId },
      select: { answerBy: true, dueBack: true },
    });
    if (transfer === null) return;
    const kind = transferNoticeKind(what);
    const noticeId = await this.notices.write(tx, {
      keeperId,
      kind,
      body: transferNotice.parse({ transferId }),
      dueOn: dueOf(what, transfer),
      dedupeKey: `${kind}:${transferId}:${message.id}`,
    });
    if (noticeId === null) return;
    await tx.ledger.append(told, { subjects: [transferId], body: { transferId, noticeId, keeperId, what } });
  }
}

/** Only an offer has a day by which to answer, and a loan one by which to come back. */
function dueOf(
  what: Payload['what'],
  { answerBy, dueBack }: { answerBy: Date | null; dueBack: Date | null },
): Day | null {
  const due = what === 'offered' ? answerBy : what === 'loan_recalled' || what === 'loan_day_agreed' ? dueBack : null;
  return due === null ? null : dayOf(due);
}
