import { z } from 'zod';
import { addDays, type Day, dayOf } from '../../kernel/index.js';
import { defineJob } from '../../platform/outbox/index.js';
import { type PrismaClient, sendAlone } from '../../platform/prisma/index.js';

/** Hour of the day, UTC, at which daily mails are written. */
export const DIGEST_HOUR = 7;

/** Writes the daily mails of `day`. In batches, each a message of its own that goes on behind the account `after`. */
export const sendDigests = defineJob({
  name: 'membership.send-digests',
  version: 1,
  payload: z.strictObject({ day: z.iso.date(), after: z.uuid().nullable() }),
  attempts: 8,
});

/** The day whose daily mails are due at `slot`: before the hour it is still the day before. */
export function digestDay(slot: Date): Day {
  const today = dayOf(slot);
  return slot.getUTCHours() < DIGEST_HOUR ? addDays(today, -1) : today;
}

/** Asks for the daily mails that are due at `slot`; asked twice for a day it is done once. */
export async function requestDigests(client: PrismaClient, slot: Date): Promise<void> {
  const day = digestDay(slot);
  await sendAlone(client, slot, sendDigests, { day, after: null }, { dedupeKey: digestKey(day, null) });
}

/** Names one batch of a day's run. */
export function digestKey(day: string, after: string | null): string {
  return `${sendDigests.name}:${day}:${after ?? 'first'}`;
}
