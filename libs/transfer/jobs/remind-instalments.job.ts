import { z } from 'zod';
import { type Day, dayOf } from '../../kernel/index.js';
import { defineJob } from '../../platform/outbox/index.js';
import { type PrismaClient, sendAlone } from '../../platform/prisma/index.js';

const place = z.strictObject({ transferId: z.uuid(), number: z.int() });

/** Reminds receivers of instalments due soon or on `day`. In batches, each a message of its own that goes on after the last. */
export const remindInstalments = defineJob({
  name: 'transfer.remind-instalments',
  version: 1,
  payload: z.strictObject({ day: z.iso.date(), after: place.nullable() }),
  attempts: 8,
});

/** Kind of the notice; its due day is the instalment’s. */
export const INSTALMENT_DUE = 'instalment_due';

/** Body of a notice of kind `instalment_due`. No amount: helpers read notices too. */
export const instalmentDueNotice = place;

/** Days before an instalment is due on which its receiver is reminded first: a convention of this registry. */
export const INSTALMENT_NOTICE_DAYS = 7;

/** Asks for the reminders of the day of `slot`; asked twice for a day they are written once. */
export async function requestInstalmentReminders(client: PrismaClient, slot: Date): Promise<void> {
  const day = dayOf(slot);
  await sendAlone(client, slot, remindInstalments, { day, after: null }, { dedupeKey: remindKey(day, null) });
}

/** Names one batch of a day’s run. */
export function remindKey(day: Day, after: z.infer<typeof place> | null): string {
  return `${remindInstalments.name}:${day}:${after === null ? 'first' : `${after.transferId}:${after.number}`}`;
}
