import { z } from 'zod';
import { dayOf } from '../../kernel/index.js';
import { defineJob } from '../../platform/outbox/index.js';
import { type PrismaClient, sendAlone } from '../../platform/prisma/index.js';

/**
 * Writes the warnings of expiry that are due on `day`: of one document, or of all where `documentId` is null. A run over all
 * goes in batches, each a message of its own.
 */
export const checkExpiry = defineJob({
  name: 'document.check-expiry',
  version: 1,
  payload: z.strictObject({ day: z.iso.date(), documentId: z.uuid().nullable(), batch: z.int().min(0) }),
  attempts: 8,
});

/** Kind of the notice this job writes; its due day is the document's last valid day. */
export const DOCUMENT_EXPIRY = 'document_expiry';

/** Body of a notice of kind `document_expiry`. */
export const documentExpiryNotice = z.strictObject({
  documentId: z.uuid(),
  slot: z.enum(['90', '30', '7', 'lapsed']),
  validUntil: z.iso.date(),
  caution: z.string(),
});

/** Asks for the check of all documents as of the day of `slot`; asked twice for a day it is done once. */
export async function requestExpiryCheck(client: PrismaClient, slot: Date): Promise<void> {
  const day = dayOf(slot);
  await sendAlone(
    client,
    slot,
    checkExpiry,
    { day, documentId: null, batch: 0 },
    { dedupeKey: `${checkExpiry.name}:${day}:0` },
  );
}
