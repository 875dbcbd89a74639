import { z } from 'zod';
import { type Day, dayOf } from '../../kernel/index.js';
import { defineJob } from '../../platform/outbox/index.js';
import { type PrismaClient, sendAlone } from '../../platform/prisma/index.js';

/**
 * Ends claims of ownership whose claimants had answered nothing by `day`, and reminds those whose last day is near. In batches in the
 * order of ids, each a message of its own that goes on after the last.
 */
export const lapseClaims = defineJob({
  name: 'transfer.lapse-claims',
  version: 1,
  payload: z.strictObject({ day: z.iso.date(), after: z.uuid().nullable() }),
  attempts: 8,
});

/** Asks for the claims that lapse as of the day of `slot`; asked twice for a day it is done once. */
export async function requestLapseClaims(client: PrismaClient, slot: Date): Promise<void> {
  const day = dayOf(slot);
  await sendAlone(client, slot, lapseClaims, { day, after: null }, { dedupeKey: lapseKey(day, null) });
}

/** Names one batch of a day's run. */
export function lapseKey(day: Day, after: string | null): string {
  return `${lapseClaims.name}:${day}:${after ?? 'first'}`;
}
