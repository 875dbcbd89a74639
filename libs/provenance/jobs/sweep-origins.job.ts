import { z } from 'zod';
import { dayOf } from '../../kernel/index.js';
import { defineJob } from '../../platform/outbox/index.js';
import { type PrismaClient, sendAlone } from '../../platform/prisma/index.js';

/** Weighs what changed since it was last weighed, and what never was: a batch in the order of ids after `after`, then the next. */
export const sweepOrigins = defineJob({
  name: 'provenance.sweep-origins',
  version: 1,
  payload: z.strictObject({ day: z.iso.date(), after: z.uuid().nullable() }),
  attempts: 8,
});

/** Asks for the nightly sweep of the day of `slot`; asked twice for a day it is done once. */
export async function requestOriginSweep(client: PrismaClient, slot: Date): Promise<void> {
  const day = dayOf(slot);
  await sendAlone(client, slot, sweepOrigins, { day, after: null }, { dedupeKey: sweepKey(day, null) });
}

/** Names one batch of a sweep. */
export function sweepKey(day: string, after: string | null): string {
  return `${sweepOrigins.name}:${day}:${after ?? 'first'}`;
}
