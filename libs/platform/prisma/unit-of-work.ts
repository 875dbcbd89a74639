import { setTimeout as sleep } from 'node:timers/promises';
import { type z } from 'zod';
import {
  busy,
  dayOf,
  type Day,
  type Decision,
  decide,
  DomainError,
  ruleRefused,
  type Viewer,
} from '../../kernel/index.js';
import { canonicalJson, sha256Hex } from '../canonical.js';
import { type Clock } from '../clock.js';
import { LedgerWriter } from '../ledger/ledger.js';
import { OutboxWriter } from '../outbox/outbox.js';
import { type Db, type PrismaClient } from './client.js';
import { CONSTRAINT_RULES } from './constraint-rules.js';
import { isBusy, mayRetry, readDatabaseFault } from './database-error.js';
import { recallOutcome, rememberOutcome } from './idempotency.js';
import { tellAll } from './tell-all.js';

/** One transaction, passed explicitly to everything that writes. Await sequentially inside it. */
export type Tx = {
  readonly db: Db;
  /** The server's clock, read once: every row of a transaction carries the same moment. */
  readonly now: Date;
  readonly today: Day;
  /** The account that acts, or null when the server itself does. */
  readonly actorId: string | null;
  readonly ledger: LedgerWriter;
  readonly outbox: OutboxWriter;
};

/** What is written: its name and input identify a repeated request, `outcome` checks what is stored and given back. */
export type WriteRequest<T> = { readonly action: string; readonly input: unknown; readonly outcome: z.ZodType<T> };

const ATTEMPTS = 4;
/** How long a transaction that a request waits for may take. */
const TIMEOUT_MS = 15_000;

/** Carries a refusal out of the transaction so that everything written in it is rolled back. */
class Refused extends Error {
  constructor(readonly decision: Extract<Decision<never>, { ok: false }>) {
    super(decision.refusal.rule);
  }
}

/** The one way to write: a transaction with ledger, outbox, idempotency and retry around a use case. */
export class UnitOfWork {
  constructor(
    private readonly client: PrismaClient,
    private readonly clock: Clock,
  ) {}

  /**
   * Runs a use case's writes on behalf of `viewer`. Returns the value decided; throws RULE_REFUSED with nothing written
   * when the decision is negative. With an `Idempotency-Key` the outcome is kept for 30 days: the same key and input give
   * it back without writing again, the same key with another input is refused. Serialization failures and deadlocks are
   * tried again from the start; when they persist the error is BUSY.
   */
  async write<T>(viewer: Viewer, request: WriteRequest<T>, work: (tx: Tx) => Promise<Decision<T>>): Promise<T> {
    const origin = { actorId: viewer.accountId, requestId: viewer.requestId };
    const { idempotencyKey: key } = viewer;
    if (key === undefined) return this.transact(origin, work);
    const ticket = {
      accountId: viewer.accountId,
      key,
      requestHash: sha256Hex(canonicalJson([request.action, request.input])),
    };
    return this.transact(origin, async (tx) => {
      const earlier = await recallOutcome(tx, ticket);
      if (earlier.kind === 'refused') return earlier.decision;
      if (earlier.kind === 'known') return decide(request.outcome.parse(earlier.outcome));
      const decision = await work(tx);
      if (decision.ok) await rememberOutcome(tx, ticket, request.outcome.parse(decision.value));
      return decision;
    });
  }

  /**
   * The same for the server's own work (jobs, sign-up, seeding), which no account asked for. `timeoutMs` is for a load
   * that no request waits for; past it nothing is written and the error is BUSY.
   */
  async writeAsServer<T>(
    requestId: string | null,
    work: (tx: Tx) => Promise<Decision<T>>,
    timeoutMs: number = TIMEOUT_MS,
  ): Promise<T> {
    return this.transact({ actorId: null, requestId }, work, timeoutMs);
  }

  private async transact<T>(
    origin: { actorId: string | null; requestId: string | null },
    work: (tx: Tx) => Promise<Decision<T>>,
    timeoutMs: number = TIMEOUT_MS,
  ): Promise<T> {
    for (let attempt = 1; ; attempt += 1) {
      try {
        return await this.once(origin, work, timeoutMs);
      } catch (error) {
        if (error instanceof Refused) throw ruleRefused(error.decision.refusal);
        if (error instanceof DomainError) throw error;
        const fault = readDatabaseFault(error);
        const rule = fault?.constraint === undefined ? undefined : CONSTRAINT_RULES[fault.constraint];
        if (rule !== undefined) throw ruleRefused(rule);
        if (isBusy(fault, error) || (mayRetry(fault) && attempt === ATTEMPTS)) throw busy();
        if (!mayRetry(fault)) throw error;
        // Jitter, so that two transactions that met once do not meet again in step.
        await sleep(10 * attempt + Math.random() * 40 * attempt);
      }
    }
  }

  private async once<T>(
    origin: { actorId: string | null; requestId: string | null },
    work: (tx: Tx) => Promise<Decision<T>>,
    timeoutMs: number,
  ): Promise<T> {
    return this.client.$transaction(
      async (db) => {
        const now = this.clock.now();
        const tx: Tx = {
          db,
          now,
          today: dayOf(now),
          actorId: origin.actorId,
          ledger: new LedgerWriter(now, origin.actorId),
          outbox: new OutboxWriter(now, origin),
        };
        const decision = await work(tx);
        if (!decision.ok) throw new Refused(decision);
        await tellAll(db, tx.ledger.takeAll(), tx.outbox.takeAll());
        return decision.value;
      },
      { maxWait: 5_000, timeout: timeoutMs },
    );
  }
}
