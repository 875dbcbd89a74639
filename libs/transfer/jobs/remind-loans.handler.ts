import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { fromDateColumn, toDateColumn } from '../../access/index.js';
import { addDays, type Day, day as toDay } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { findOut } from '../loans/loan.store.js';
import {
  LOAN_DUE,
  LOAN_NOTICE_DAYS,
  LOAN_OVERDUE,
  LOAN_OVERDUE_DAYS,
  loanNotice,
  remindLoans,
  remindLoansKey,
} from './remind-loans.job.js';

type Payload = z.infer<typeof remindLoans.payload>;

/** Loans a transaction looks at, at most. */
const BATCH = 500;

const noticed = defineLedgerAction(
  'transfer.loans-noticed',
  1,
  z.strictObject({
    day: z.iso.date(),
    notices: z.array(z.strictObject({ transferId: z.uuid(), kind: z.string(), noticeId: z.uuid() })),
  }),
);

/**
 * Writes both sides of a loan a notice some days before its last day, and one when it was not returned by then: once each for a day,
 * so that another day that was agreed on is told of anew. Only while the borrower has something to give back.
 */
@Injectable()
export class RemindLoansHandler implements JobHandler<Payload> {
  readonly job = remindLoans;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { day, after }: Payload): Promise<void> {
    const today = toDay(day);
    const around = await findAround(tx, today, after);
    const out = await findOut(
      tx.db,
      around.map(({ transferId }) => transferId),
    );
    const told = around
      .filter(({ transferId }) => out.has(transferId))
      .flatMap((loan) => [loan.lender, loan.borrower].map((keeperId) => noticeOf(loan, keeperId, today)));
    const written = await this.notices.writeMany(tx, told);
    const notices = told.flatMap(({ kind, body: { transferId }, dedupeKey }) => {
      const noticeId = written.get(dedupeKey);
      return noticeId === undefined ? [] : [{ transferId, kind, noticeId }];
    });
    if (notices.length > 0) {
      const subjects = [...new Set(notices.map(({ transferId }) => transferId))];
      await tx.ledger.append(noticed, { subjects, body: { day, notices } });
    }
    const last = around.at(-1)?.transferId;
    if (around.length < BATCH || last === undefined) return;
    await tx.outbox.send(remindLoans, { day, after: last }, { dedupeKey: remindLoansKey(today, last) });
  }
}

type Around = { transferId: string; dueBack: Date; lender: string; borrower: string };

/** Loans whose last day is around the day, in the order of their ids. */
async function findAround(tx: Tx, today: Day, after: string | null): Promise<Around[]> {
  return tx.db.$queryRaw<Around[]>`
    SELECT t.id AS "transferId", t.due_back AS "dueBack", t.from_keeper_id AS lender, t.to_keeper_id AS borrower
    FROM transfer t
    WHERE t.due_back BETWEEN ${toDateColumn(addDays(today, -LOAN_OVERDUE_DAYS))}::date
        AND ${toDateColumn(addDays(today, LOAN_NOTICE_DAYS))}::date
      AND t.kind = 'breeding_loan' AND t.state IN ('sent', 'received') AND t.to_keeper_id IS NOT NULL
      AND (${after === null} OR t.id > ${after}::uuid)
    ORDER BY t.id LIMIT ${BATCH}`;
}

function noticeOf({ transferId, dueBack }: Around, keeperId: string, today: Day) {
  const dueOn = fromDateColumn(dueBack);
  const kind = dueOn < today ? LOAN_OVERDUE : LOAN_DUE;
  const dedupeKey = `${kind}:${transferId}:${dueOn}:${keeperId}`;
  return { keeperId, kind, body: loanNotice.parse({ transferId }), dueOn, dedupeKey };
}
