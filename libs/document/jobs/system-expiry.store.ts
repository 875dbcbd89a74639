import { fromDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { Prisma, type Tx } from '../../platform/prisma/index.js';
import { LAPSE_NEWS_DAYS, LEAD_DAYS, type ExpirySlot } from '../core/expiry.core.js';
import { DOCUMENT_EXPIRY } from './check-expiry.job.js';

/** A warning that is due and was not given yet. */
export type DueWarning = {
  readonly documentId: string;
  readonly keeperId: string;
  readonly slot: ExpirySlot;
  readonly validUntil: Day;
  /** By the paper's first record, its last day and the slot: a correction that leaves the last day repeats nothing. */
  readonly dedupeKey: string;
};

const [FIRST, SECOND, LAST] = LEAD_DAYS;

/**
 * The warnings due on `day` of documents in force, at most `limit`, of one document where an id is given. The rule of
 * `slotDue` in SQL. The documents stay locked against being superseded until the transaction ends, and one that was
 * superseded while the lock was waited for is left out.
 */
export async function findDueWarnings(
  tx: Tx,
  day: Day,
  documentId: string | null,
  limit: number,
): Promise<DueWarning[]> {
  const one = documentId === null ? Prisma.empty : Prisma.sql`AND d.id = ${documentId}::uuid`;
  const slot = Prisma.sql`CASE WHEN d.valid_until < ${day}::date THEN 'lapsed'
    WHEN d.valid_until <= ${day}::date + ${LAST}::int THEN '7'
    WHEN d.valid_until <= ${day}::date + ${SECOND}::int THEN '30' ELSE '90' END`;
  const key = Prisma.sql`${DOCUMENT_EXPIRY} || ':' || d.original_id || ':' || to_char(d.valid_until, 'YYYY-MM-DD') || ':' || ${slot}`;
  const rows = await tx.db.$queryRaw<
    { documentId: string; keeperId: string; slot: ExpirySlot; validUntil: Date; dedupeKey: string }[]
  >`
    SELECT d.id AS "documentId", d.keeper_id AS "keeperId", ${slot} AS slot, d.valid_until AS "validUntil",
           ${key} AS "dedupeKey"
    FROM holding_document d
    WHERE d.superseded_at IS NULL ${one}
      AND d.valid_until BETWEEN ${day}::date - ${LAPSE_NEWS_DAYS}::int AND ${day}::date + ${FIRST}::int
      AND (d.valid_from IS NULL OR d.valid_from <= ${day}::date)
      AND NOT EXISTS (SELECT FROM notice n WHERE n.dedupe_key = ${key})
    LIMIT ${limit}
    FOR SHARE OF d`;
  return rows.map((row) => ({ ...row, validUntil: fromDateColumn(row.validUntil) }));
}
