import { type Decision, refuse } from '../../kernel/index.js';
import { type Db } from './client.js';

type Tx = { readonly db: Db; readonly now: Date };

/** Whose request it is, the key it carries and what it asks, hashed. */
export type Ticket = { readonly accountId: string; readonly key: string; readonly requestHash: string };

type Earlier =
  | { readonly kind: 'first' }
  | { readonly kind: 'known'; readonly outcome: unknown }
  | { readonly kind: 'refused'; readonly decision: Extract<Decision<never>, { ok: false }> };

/**
 * Claims the key for this transaction, or finds what an earlier one left. The insert waits for a concurrent request with
 * the same key to commit or roll back, so that of two retries at once one does the work and the other reads its outcome.
 */
export async function recallOutcome(tx: Tx, ticket: Ticket): Promise<Earlier> {
  const inserted = await tx.db.$executeRaw`
    INSERT INTO idempotency_record (account_id, key, request_hash, outcome, created_at)
    VALUES (${ticket.accountId}::uuid, ${ticket.key}, ${ticket.requestHash}, 'null'::jsonb, ${tx.now})
    ON CONFLICT (account_id, key) DO NOTHING`;
  if (inserted === 1) return { kind: 'first' };
  const row = await tx.db.idempotencyRecord.findUniqueOrThrow({
    where: { accountId_key: { accountId: ticket.accountId, key: ticket.key } },
  });
  if (row.requestHash === ticket.requestHash) return { kind: 'known', outcome: row.outcome };
  return {
    kind: 'refused',
    decision: refuse(
      'IDEMPOTENCY_KEY_REUSED',
      'This Idempotency-Key was used for another request. Send a new key with a new request.',
    ),
  };
}

/** Stores the outcome under the key claimed earlier in the same transaction. */
export async function rememberOutcome(tx: Tx, ticket: Ticket, outcome: unknown): Promise<void> {
  await tx.db.idempotencyRecord.update({
    where: { accountId_key: { accountId: ticket.accountId, key: ticket.key } },
    data: { outcome: outcome as object },
  });
}
