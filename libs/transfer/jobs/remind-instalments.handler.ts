import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { fromDateColumn, toDateColumn } from '../../access/index.js';
import { addDays, type Day, day as toDay } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import {
  INSTALMENT_DUE,
  INSTALMENT_NOTICE_DAYS,
  instalmentDueNotice,
  remindInstalments,
  remindKey,
} from './remind-instalments.job.js';

type Payload = z.infer<typeof remindInstalments.payload>;

/** Instalments a transaction tells of at most. */
const BATCH = 500;

const reminded = defineLedgerAction(
  'transfer.instalments-noticed',
  1,
  z.strictObject({
    day: z.iso.date(),
    notices: z.array(z.strictObject({ transferId: z.uuid(), number: z.int(), noticeId: z.uuid() })),
  }),
);

/**
 * Writes the receiver two notices of an instalment that property waits for: some days before it is due, and on the day. One that
 * payments cover, declared or confirmed, is not told; nor is one long overdue, which the two sides see with the transfer.
 */
@Injectable()
export class RemindInstalmentsHandler implements JobHandler<Payload> {
  readonly job = remindInstalments;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { day, after }: Payload): Promise<void> {
    const today = toDay(day);
    const due = await findDue(tx, today, after);
    const told = due.map((instalment) => ({ ...instalment, key: keyOf(instalment, today) }));
    const written = await this.notices.writeMany(
      tx,
      told.map(({ keeperId, transferId, number, dueOn, key }) => ({
        keeperId,
        kind: INSTALMENT_DUE,
        body: instalmentDueNotice.parse({ transferId, number }),
        dueOn: fromDateColumn(dueOn),
        dedupeKey: key,
      })),
    );
    const notices = told.flatMap(({ transferId, number, key }) => {
      const noticeId = written.get(key);
      return noticeId === undefined ? [] : [{ transferId, number, noticeId }];
    });
    if (notices.length > 0) {
      const subjects = [...new Set(notices.map(({ transferId }) => transferId))];
      await tx.ledger.append(reminded, { subjects, body: { day, notices } });
    }
    const last = due.at(-1);
    if (due.length < BATCH || last === undefined) return;
    const next = { transferId: last.transferId, number: last.number };
    await tx.outbox.send(remindInstalments, { day, after: next }, { dedupeKey: remindKey(today, next) });
  }
}

type Due = { transferId: string; number: number; dueOn: Date; keeperId: string };

/** Instalments around the day that no payment covers, counted in the order they fall due. */
async function findDue(tx: Tx, today: Day, after: Payload['after']): Promise<Due[]> {
  return tx.db.$queryRaw<Due[]>`
    SELECT i.transfer_id AS "transferId", i.number, i.due_on AS "dueOn", t.to_keeper_id AS "keeperId"
    FROM transfer_instalment i JOIN transfer t ON t.id = i.transfer_id
    WHERE i.due_on BETWEEN ${toDateColumn(addDays(today, -INSTALMENT_NOTICE_DAYS))}::date
        AND ${toDateColumn(addDays(today, INSTALMENT_NOTICE_DAYS))}::date
      AND t.title::text = 'when_paid' AND t.paid_up_on IS NULL AND t.to_keeper_id IS NOT NULL
      AND (t.state IN ('accepted', 'sent') OR (t.state = 'received' AND EXISTS (
        SELECT FROM transfer_item x WHERE x.transfer_id = t.id AND x.title_due)))
      AND (SELECT sum(e.minor) FROM transfer_instalment e WHERE e.transfer_id = t.id AND e.number <= i.number)
        > (SELECT coalesce(sum(p.minor), 0) FROM transfer_payment p
           WHERE p.transfer_id = t.id AND p.state IN ('declared', 'confirmed'))
      AND (${after === null} OR (i.transfer_id, i.number) > (${after?.transferId ?? null}::uuid, ${after?.number ?? 0}))
    ORDER BY i.transfer_id, i.number LIMIT ${BATCH}`;
}

/** One reminder before the day and one from it on, however late the worker comes. */
function keyOf({ transferId, number, dueOn }: Due, today: Day): string {
  const when = fromDateColumn(dueOn) > today ? 'ahead' : 'due';
  return `${INSTALMENT_DUE}:${transferId}:${number}:${when}`;
}
