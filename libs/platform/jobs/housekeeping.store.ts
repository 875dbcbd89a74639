import { type Db } from '../prisma/client.js';

/** Days the outcome of a write with an `Idempotency-Key` is kept. */
export const IDEMPOTENCY_DAYS = 30;

/** Days a message of the outbox is kept with its receipt after it was done. No dedupe key of a message is longer good for: each names a day. */
export const MESSAGE_DAYS = 30;

/** Rows a statement deletes at most, so that nobody waits long for its locks. */
const BATCH = 5_000;

/** Deletes the idempotency records that were older than 30 days at `slot`; returns how many. */
export async function deleteOldIdempotencyRecords(db: Db, slot: Date, batch = BATCH): Promise<number> {
  const before = daysBefore(slot, IDEMPOTENCY_DAYS);
  return inBatches(
    batch,
    () => db.$executeRaw`
      DELETE FROM idempotency_record WHERE (account_id, key) IN (
        SELECT account_id, key FROM idempotency_record WHERE created_at < ${before} ORDER BY created_at LIMIT ${batch})`,
  );
}

/**
 * Deletes messages that were done more than 30 days before `slot`, with their receipts; returns how many receipts. What waits, was
 * lost or given up has no receipt and stays, and so does what an operator still has on the list of failures.
 */
export async function deleteOldMessages(db: Db, slot: Date, batch = BATCH): Promise<number> {
  const before = daysBefore(slot, MESSAGE_DAYS);
  return inBatches(
    batch,
    () => db.$executeRaw`
      WITH done AS (
        SELECT r.message_id, r.handler FROM job_receipt r
        WHERE r.at < ${before} AND NOT EXISTS (SELECT FROM job_failure f WHERE f.message_id = r.message_id)
        LIMIT ${batch}
      ), gone AS (
        DELETE FROM outbox_message m USING done d WHERE m.id = d.message_id AND m.dispatched_at IS NOT NULL)
      DELETE FROM job_receipt r USING done d WHERE r.message_id = d.message_id AND r.handler = d.handler`,
  );
}

function daysBefore(slot: Date, days: number): Date {
  return new Date(slot.getTime() - days * 86_400_000);
}

/** Repeats a statement that takes at most `batch` rows until it finds fewer; gives the sum. */
async function inBatches(batch: number, statement: () => Promise<number>): Promise<number> {
  let sum = 0;
  for (let count = batch; count === batch; sum += count) count = await statement();
  return sum;
}
