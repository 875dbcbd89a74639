import { z } from 'zod';
import { type Day, dayOf } from '../../kernel/index.js';
import { defineJob } from '../../platform/outbox/index.js';
import { type PrismaClient, sendAlone, type Tx } from '../../platform/prisma/index.js';

/**
 * Tells keepers of quarantines that were over on or before `day`: of one group, or of all where `groupId` is null. A run
 * over all goes in batches in the order of ids, each a message of its own that goes on after the last.
 */
export const checkQuarantineEnd = defineJob({
  name: 'health.check-quarantine-end',
  version: 1,
  payload: z.strictObject({ day: z.iso.date(), groupId: z.uuid().nullable(), after: z.uuid().nullable() }),
  attempts: 8,
});

/** Kind of the notice this job writes; its due day is the first day out of quarantine. */
export const QUARANTINE_ENDS = 'quarantine_ends';

/** Body of a notice of kind `quarantine_ends`. */
export const quarantineEndsNotice = z.strictObject({
  groupId: z.uuid(),
  registerNumbers: z.array(z.string()).min(1),
  days: z.int().positive(),
  /** Who says how many days. */
  source: z.string(),
  caution: z.string(),
});

/** Asks for the check of all groups as of the day of `slot`; asked twice for a day it is done once. */
export async function requestQuarantineCheck(client: PrismaClient, slot: Date): Promise<void> {
  const day = dayOf(slot);
  await sendAlone(
    client,
    slot,
    checkQuarantineEnd,
    { day, groupId: null, after: null },
    { dedupeKey: nightlyKey(day, null) },
  );
}

/** Asks for the check of one group after animals entered it: what is recorded late may be over already. */
export async function checkAfterEntry(tx: Tx, groupId: string): Promise<void> {
  await tx.outbox.send(checkQuarantineEnd, { day: tx.today, groupId, after: null });
}

/** Names one batch of the nightly run. */
export function nightlyKey(day: Day, after: string | null): string {
  return `${checkQuarantineEnd.name}:${day}:${after ?? 'first'}`;
}
