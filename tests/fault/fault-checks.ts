import { type PrismaClient } from '../../libs/platform/prisma/index.js';

/** One thing that must not be, with how often it was found. */
export type Violation = { readonly what: string; readonly count: number };

/** What the run left behind, counted. */
export type FaultCounts = { readonly messages: number; readonly deliveries: number };

async function count(client: PrismaClient, sql: string): Promise<number> {
  const [row] = await client.$queryRawUnsafe<{ n: bigint }[]>(`SELECT count(*) AS n FROM ${sql}`);
  return Number(row?.n ?? 0);
}

/** Each line selects rows that must not exist. */
const FORBIDDEN: Readonly<Record<string, string>> = {
  'messages without a receipt':
    '(SELECT FROM outbox_message m WHERE NOT EXISTS (SELECT FROM job_receipt r WHERE r.message_id = m.id)) x',
  'messages with more than one receipt':
    '(SELECT message_id FROM job_receipt GROUP BY message_id HAVING count(*) > 1) x',
  'receipts without a message':
    '(SELECT FROM job_receipt r WHERE NOT EXISTS (SELECT FROM outbox_message m WHERE m.id = r.message_id)) x',
  'transfers without a message': `(SELECT FROM transfer t WHERE NOT EXISTS (SELECT FROM outbox_message m WHERE m.payload ->> 'transferId' = t.id::text)) x`,
  'transfers with more than one message': `(SELECT payload ->> 'transferId' FROM outbox_message GROUP BY 1 HAVING count(*) > 1) x`,
  'transfers without a notice': `(SELECT FROM transfer t WHERE NOT EXISTS (SELECT FROM notice n WHERE n.body ->> 'transferId' = t.id::text AND n.keeper_id = t.to_keeper_id)) x`,
  'transfers with more than one notice': `(SELECT body ->> 'transferId' FROM notice GROUP BY 1 HAVING count(*) > 1) x`,
  'notices without a committed transfer': `(SELECT FROM notice n WHERE NOT EXISTS (SELECT FROM transfer t WHERE t.id::text = n.body ->> 'transferId')) x`,
  'transfers whose handler worked more than once':
    '(SELECT transfer_id FROM fault_effect GROUP BY 1 HAVING count(*) > 1) x',
  'ledger entries of a reminder written more than once': `(SELECT subjects FROM ledger_entry WHERE action = 'transfer.arrival-quarantine-reminded' GROUP BY 1 HAVING count(*) > 1) x`,
  'listed job failures': 'job_failure',
  'animals with overlapping holders': `(SELECT FROM custody a JOIN custody b ON b.animal_id = a.animal_id AND b.id > a.id
      AND daterange(a.valid_from, a.valid_to) && daterange(b.valid_from, b.valid_to)
      WHERE a.superseded_at IS NULL AND b.superseded_at IS NULL) x`,
  'animals without exactly one present holder': `(SELECT FROM animal a WHERE 1 <> (SELECT count(*) FROM custody c
      WHERE c.animal_id = a.id AND c.superseded_at IS NULL AND c.valid_to IS NULL)) x`,
  'received transfers without the receiver’s custody': `(SELECT FROM transfer t WHERE 1 <> (SELECT count(*) FROM custody c
      WHERE c.arrival_ref = t.id AND c.keeper_id = t.to_keeper_id AND c.superseded_at IS NULL)) x`,
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

/** Whether every message has its receipt. */
export async function isDrained(client: PrismaClient): Promise<boolean> {
  return (await count(client, FORBIDDEN['messages without a receipt'] ?? '')) === 0;
}

export async function countRun(client: PrismaClient): Promise<FaultCounts> {
  return { messages: await count(client, 'outbox_message'), deliveries: await count(client, 'fault_delivery') };
}
