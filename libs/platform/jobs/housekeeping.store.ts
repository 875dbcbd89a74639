import { type Db } from '../prisma/client.js';

/** Days the outcome of a write with an `Idempotency-Key` is kept. */
export const IDEMPOTENCY_DAYS = 30;

/** Deletes the idempotency records that were older than 30 days at `slot`; returns how many. */
export async function deleteOldIdempotencyRecords(db: Db, slot: Date): Promise<number> {
  const before = new Date(slot.getTime() - IDEMPOTENCY_DAYS * 86_400_000);
  const { count } = await db.idempotencyRecord.deleteMany({ where: { createdAt: { lt: before } } });
  return count;
}
