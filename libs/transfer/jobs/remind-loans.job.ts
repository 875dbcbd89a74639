import { z } from 'zod';
import { type Day, dayOf } from '../../kernel/index.js';
import { defineJob } from '../../platform/outbox/index.js';
import { type PrismaClient, sendAlone } from '../../platform/prisma/index.js';

/** Tells both sides of loans due back soon, or not returned by their day. In batches, each a message that goes on after the last. */
export const remindLoans = defineJob({
  name: 'transfer.remind-loans',
  version: 1,
  payload: z.strictObject({ day: z.iso.date(), after: z.uuid().nullable() }),
  attempts: 8,
});

/** Kinds of the notices; their due day is the last day of the loan. */
export const LOAN_DUE = 'loan_due';
export const LOAN_OVERDUE = 'loan_overdue';

/** Body of both: which transfer it is. */
export const loanNotice = z.strictObject({ transferId: z.uuid() });

/** Days before its last day on which both sides are told of a loan first: a convention of this registry. */
export const LOAN_NOTICE_DAYS = 7;

/** Days after which an overdue loan is told of no more, should the worker have rested so long: both sides see it with their loans. */
export const LOAN_OVERDUE_DAYS = 30;

/** Asks for the reminders of the day of `slot`; asked twice for a day they are written once. */
export async function requestLoanReminders(client: PrismaClient, slot: Date): Promise<void> {
  const day = dayOf(slot);
  await sendAlone(client, slot, remindLoans, { day, after: null }, { dedupeKey: remindLoansKey(day, null) });
}

/** Names one batch of a day’s run. */
export function remindLoansKey(day: Day, after: string | null): string {
  return `${remindLoans.name}:${day}:${after ?? 'first'}`;
}
