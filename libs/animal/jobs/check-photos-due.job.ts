import { z } from 'zod';
import { type Day, dayOf } from '../../kernel/index.js';
import { defineJob } from '../../platform/outbox/index.js';
import { type PrismaClient, sendAlone } from '../../platform/prisma/index.js';

/**
 * Reminds keepers of photo documentations whose next session was due on or before `day`, in batches in the order of their
 * marks, each a message of its own that goes on after the last.
 */
export const checkPhotosDue = defineJob({
  name: 'animal.check-photos-due',
  version: 1,
  payload: z.strictObject({ day: z.iso.date(), after: z.uuid().nullable() }),
  attempts: 8,
});

/** Kind of the notice this job writes; its due day is the day of the next session. */
export const PHOTOS_DUE = 'photos_due';

/** Body of a notice of kind `photos_due`. */
export const photosDueNotice = z.strictObject({
  animalId: z.uuid(),
  registerNumber: z.string(),
  markId: z.uuid(),
  /** What is shown, from which side; as it is to be taken again. */
  fixedView: z.string().nullable(),
  lastTakenOn: z.iso.date(),
  /** As the keeper recorded it with the mark. No source publishes an interval: where a law asks for pictures, the authority says how often. */
  intervalDays: z.int().positive(),
  remedy: z.string(),
});

/** Asks for the check as of the day of `slot`; asked twice for a day it is done once. */
export async function requestPhotosCheck(client: PrismaClient, slot: Date): Promise<void> {
  const day = dayOf(slot);
  await sendAlone(client, slot, checkPhotosDue, { day, after: null }, { dedupeKey: nightlyKey(day, null) });
}

/** Names one batch of the nightly run. */
export function nightlyKey(day: Day, after: string | null): string {
  return `${checkPhotosDue.name}:${day}:${after ?? 'first'}`;
}
