import { type PrismaClient } from '../../libs/platform/prisma/index.js';

/** One thing that must not be, with how often it was found. */
export type Violation = { readonly what: string; readonly count: number };

/** What the run left behind, counted. `absorbed`: deliveries that found the receipt and did nothing. */
export type FaultCounts = { readonly messages: number; readonly absorbed: number; readonly transfers: number };

async function count(client: PrismaClient, sql: string): Promise<number> {
  const [row] = await client.$queryRawUnsafe<{ n: bigint }[]>(`SELECT count(*) AS n FROM ${sql}`);
  return Number(row?.n ?? 0);
}

const REMINDER = `'transfer.remind-arrival-quarantine'`;

/** Each line selects rows that must not exist. */
const FORBIDDEN: Readonly<Record<string, string>> = {
  'messages without a receipt':
    '(SELECT FROM outbox_message m WHERE NOT EXISTS (SELECT FROM job_receipt r WHERE r.message_id = m.id)) x',
  'messages with more than one receipt':
    '(SELECT message_id FROM job_receipt GROUP BY message_id HAVING count(*) > 1) x',
  'receipts without a message':
    '(SELECT FROM job_receipt r WHERE NOT EXISTS (SELECT FROM outbox_message m WHERE m.id = r.message_id)) x',
  'received transfers without a reminder to send': `(SELECT FROM transfer t WHERE t.state = 'received'
      AND NOT EXISTS (SELECT FROM outbox_message m WHERE m.job = ${REMINDER} AND m.payload ->> 'transferId' = t.id::text)) x`,
  'reminders sent twice for a transfer': `(SELECT payload ->> 'transferId' FROM outbox_message WHERE job = ${REMINDER} GROUP BY 1 HAVING count(*) > 1) x`,
  'received transfers without their notice': `(SELECT FROM transfer t WHERE t.state = 'received' AND NOT EXISTS (SELECT FROM notice n
      WHERE n.kind = 'arrival_quarantine' AND n.body ->> 'transferId' = t.id::text AND n.keeper_id = t.to_keeper_id)) x`,
  'transfers with more than one notice': `(SELECT body ->> 'transferId' FROM notice WHERE kind = 'arrival_quarantine' GROUP BY 1 HAVING count(*) > 1) x`,
  'notices without a received transfer': `(SELECT FROM notice n WHERE n.kind = 'arrival_quarantine'
      AND NOT EXISTS (SELECT FROM transfer t WHERE t.state = 'received' AND t.id::text = n.body ->> 'transferId')) x`,
  // The receipt's row was written by the delivery that did the work: xmin is its transaction (PostgreSQL manual, 5.5).
  'second deliveries that wrote something': `(SELECT FROM fault_delivery d JOIN job_receipt r ON r.message_id = d.message_id
      WHERE d.transaction <> r.xmin::text AND EXISTS (SELECT FROM fault_write w WHERE w.transaction = d.transaction)) x`,
  'first deliveries that wrote nothing at all': `(SELECT FROM fault_delivery d JOIN job_receipt r ON r.message_id = d.message_id
      WHERE d.transaction = r.xmin::text AND NOT EXISTS (SELECT FROM fault_write w WHERE w.transaction = d.transaction)) x`,
  // Each step is told to the other side; which one it was stands in the body.
  'ledger entries of a step written twice': `(SELECT action, subjects FROM ledger_entry WHERE action LIKE 'transfer.%'
      GROUP BY 1, 2, CASE action WHEN 'transfer.other-side-told' THEN body::jsonb - 'noticeId' END HAVING count(*) > 1) x`,
  'listed job failures': 'job_failure',
  'animals with overlapping holders': `(SELECT FROM custody a JOIN custody b ON b.animal_id = a.animal_id AND b.id > a.id
      AND daterange(a.valid_from, a.valid_to) && daterange(b.valid_from, b.valid_to)
      WHERE a.superseded_at IS NULL AND b.superseded_at IS NULL) x`,
  'animals without exactly one present holder': `(SELECT FROM animal a WHERE 1 <> (SELECT count(*) FROM custody c
      WHERE c.animal_id = a.id AND c.superseded_at IS NULL AND c.valid_to IS NULL)) x`,
  'received transfers without one custody of the receiver': `(SELECT FROM transfer t WHERE t.state = 'received' AND 1 <> (SELECT count(*) FROM custody c
      WHERE c.arrival_ref = t.id AND c.keeper_id = t.to_keeper_id AND c.superseded_at IS NULL)) x`,
  'animals with overlapping owners': `(SELECT FROM ownership a JOIN ownership b ON b.animal_id = a.animal_id AND b.id > a.id
      AND daterange(a.valid_from, a.valid_to) && daterange(b.valid_from, b.valid_to)
      WHERE a.superseded_at IS NULL AND b.superseded_at IS NULL) x`,
  'animals whose present owner is not one keeper, the holder': `(SELECT FROM animal a WHERE 1 <> (
      SELECT count(*) FROM ownership o JOIN ownership_share s ON s.ownership_id = o.id
      JOIN custody c ON c.animal_id = o.animal_id AND c.superseded_at IS NULL AND c.valid_to IS NULL AND c.keeper_id = s.keeper_id
      WHERE o.animal_id = a.id AND o.superseded_at IS NULL AND o.valid_to IS NULL AND o.state = 'agreed')) x`,
  'sales that are not paid up by one confirmed payment': `(SELECT FROM transfer t WHERE t.title = 'when_paid' AND (t.paid_up_on IS NULL
      OR ARRAY['confirmed'] IS DISTINCT FROM ARRAY(SELECT p.state::text FROM transfer_payment p WHERE p.transfer_id = t.id))) x`,
  'hand-overs in person without one code that was used': `(SELECT FROM transfer t WHERE t.way = 'in_person'
      AND 1 <> (SELECT count(*) FROM hand_over_code h WHERE h.transfer_id = t.id AND h.used_at IS NOT NULL)) x`,
  'codes that were opened twice or used for nothing': `(SELECT h.transfer_id FROM hand_over_code h JOIN transfer t ON t.id = h.transfer_id
      GROUP BY 1 HAVING count(*) > 1 OR bool_or(t.way IS DISTINCT FROM 'in_person')) x`,
  'transfers left open': `(SELECT FROM transfer WHERE state <> 'received') x`,
};

/** Everything that went wrong, by the tables alone. */
export async function findViolations(client: PrismaClient): Promise<Violation[]> {
  const violations: Violation[] = [];
  for (const [what, sql] of Object.entries(FORBIDDEN)) {
    const found = await count(client, sql);
    if (found > 0) violations.push({ what, count: found });
  }
  return violations;
}

/** Whether every message has come to an end: its receipt, or the list of failures. */
export async function isDrained(client: PrismaClient): Promise<boolean> {
  const open = `(SELECT FROM outbox_message m WHERE NOT EXISTS (SELECT FROM job_receipt r WHERE r.message_id = m.id)
    AND NOT EXISTS (SELECT FROM job_failure f WHERE f.message_id = m.id)) x`;
  return (await count(client, open)) === 0;
}

/** Counts, at any time. */
export async function countRun(client: PrismaClient): Promise<FaultCounts> {
  // One statement: counted one after the other, a delivery in between would look like one that did nothing.
  const [row] = await client.$queryRaw<{ messages: bigint; absorbed: bigint; transfers: bigint }[]>`
    SELECT (SELECT count(*) FROM outbox_message) AS messages, (SELECT count(*) FROM transfer) AS transfers,
           (SELECT count(*) FROM fault_delivery) - (SELECT count(*) FROM job_receipt) AS absorbed`;
  return { messages: Number(row?.messages), absorbed: Number(row?.absorbed), transfers: Number(row?.transfers) };
}
