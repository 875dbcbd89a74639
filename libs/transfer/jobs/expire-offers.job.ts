import { z } from 'zod';
import { type Day, dayOf } from '../../kernel/index.js';
import { defineJob } from '../../platform/outbox/index.js';
import { type PrismaClient, sendAlone } from '../../platform/prisma/index.js';

/** Ends the offers whose day to answer was before `day`. In batches, each a message of its own. */
export const expireOffers = defineJob({
  name: 'transfer.expire-offers',
  version: 1,
  payload: z.strictObject({ day: z.iso.date(), batch: z.int().min(0) }),
  attempts: 8,
});

/** Kind of the notice both sides get when nobody answered in time; its due day is the last on which one could. */
export const OFFER_EXPIRED = 'offer_expired';

/** Body of a notice of kind `offer_expired`. */
export const offerExpiredNotice = z.strictObject({ transferId: z.uuid(), side: z.enum(['giver', 'receiver']) });

/** Asks for the offers that are over as of the day of `slot`; asked twice for a day it is done once. */
export async function requestExpireOffers(client: PrismaClient, slot: Date): Promise<void> {
  const day = dayOf(slot);
  await sendAlone(client, slot, expireOffers, { day, batch: 0 }, { dedupeKey: expireKey(day, 0) });
}

/** Names one batch of a day's run. */
export function expireKey(day: Day, batch: number): string {
  return `${expireOffers.name}:${day}:${batch}`;
}
