import { v7 as uuid } from 'uuid';
import { type NewEntry } from '../ledger/ledger.js';
import { type Job } from '../outbox/job.js';
import { type NewMessage, OutboxWriter } from '../outbox/outbox.js';
import { type Db, Prisma } from './client.js';

/** Rows a statement, so that it stays below the 65,535 parameters PostgreSQL takes. */
const ROWS = 1_000;

/**
 * Writes what a transaction has to say: its ledger entries with the personal text behind them, and its outbox messages, of
 * which those whose `dedupeKey` is there already are dropped. One statement, because every write ends with it.
 */
export async function tellAll(db: Db, entries: NewEntry[], messages: NewMessage[]): Promise<void> {
  while (entries.length + messages.length > 0) {
    const parts = [...tellLedger(entries.splice(0, ROWS)), ...tellOutbox(messages.splice(0, ROWS))];
    const named = parts.map((part, i) => Prisma.sql`${Prisma.raw(`part_${i}`)} AS (${part})`);
    await db.$executeRaw`WITH ${Prisma.join(named)} SELECT 1`;
  }
}

/** Leaves a message that belongs to no write, such as what a schedule asks for at `slot`. */
export async function sendAlone<T>(
  db: Db,
  slot: Date,
  job: Job<T>,
  payload: T,
  options: { dedupeKey?: string } = {},
): Promise<void> {
  const outbox = new OutboxWriter(slot, { actorId: null, requestId: null });
  await outbox.send(job, payload, options);
  await tellAll(db, [], outbox.takeAll());
}

function tellLedger(entries: readonly NewEntry[]): Prisma.Sql[] {
  if (entries.length === 0) return [];
  const rows = entries.map(({ facts, leafHash }) => {
    const { id, at, actorId, action, schemaVersion, subjects, body } = facts;
    const hash = Buffer.from(leafHash).toString('hex');
    return Prisma.sql`(${id}::uuid, ${at}::timestamptz, ${actorId}::uuid, ${action}, ${schemaVersion}::int,
      ${[...subjects]}::uuid[], ${body}, decode(${hash}, 'hex'))`;
  });
  const written = Prisma.sql`
    INSERT INTO ledger_entry (id, at, actor_id, action, schema_version, subjects, body, leaf_hash)
    VALUES ${Prisma.join(rows)}`;
  const personal = entries.flatMap(({ facts, personal }) => personal.map((text) => ({ entryId: facts.id, ...text })));
  if (personal.length === 0) return [written];
  const committed = Prisma.sql`
    INSERT INTO ledger_commitment (id, entry_id, path, value, salt)
    SELECT id, entry_id, path, value, decode(salt, 'hex')
    FROM unnest(${personal.map(() => uuid())}::uuid[], ${personal.map(({ entryId }) => entryId)}::uuid[],
      ${personal.map(({ path }) => path)}::text[], ${personal.map(({ value }) => value)}::text[],
      ${personal.map(({ salt }) => Buffer.from(salt).toString('hex'))}::text[]) AS p(id, entry_id, path, value, salt)`;
  return [written, committed];
}

function tellOutbox(messages: readonly NewMessage[]): Prisma.Sql[] {
  if (messages.length === 0) return [];
  const rows = messages.map(
    (m) => Prisma.sql`(${m.id}::uuid, ${m.job}, ${m.schemaVersion}::int, ${m.payload}::jsonb, ${m.actorId}::uuid,
      ${m.requestId}, ${m.dedupeKey}, ${m.availableAt}::timestamptz, ${m.createdAt}::timestamptz)`,
  );
  return [
    Prisma.sql`
    INSERT INTO outbox_message
      (id, job, schema_version, payload, actor_id, request_id, dedupe_key, available_at, created_at)
    VALUES ${Prisma.join(rows)} ON CONFLICT DO NOTHING`,
  ];
}
