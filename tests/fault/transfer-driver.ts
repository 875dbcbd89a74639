import { randomUUID } from 'node:crypto';
import { type FaultWorld } from './fault-world.js';
import { pick } from './random.js';

type Request = {
  readonly accountId: string;
  readonly key: string;
  readonly animalId: string;
  readonly toKeeperIds: readonly [string, string];
};

/** How many requests wait for their answer at the most. */
const IN_FLIGHT = 20;
/** Share of requests that repeat an answered one. */
const REPEATS = 0.15;
/** Milliseconds after which an unanswered request is sent again, with its key. */
const IMPATIENCE = 4_000;

/**
 * Sends transfers to a writer that may be killed at any moment, as a client on a bad line would: every request has a key,
 * what is not answered is sent again with the same key, and now and then an answered one is repeated.
 */
export class TransferDriver {
  private readonly waiting = new Map<string, { request: Request; sentAt: number }>();
  private readonly answered: Request[] = [];
  /** Outcome by key, as text. */
  readonly outcomes = new Map<string, string>();
  /** What must not be: another outcome for a key, an error. */
  readonly complaints: string[] = [];
  /** Requests that were sent again, for whatever reason. */
  retries = 0;

  constructor(
    private readonly world: FaultWorld,
    private readonly random: () => number,
    private readonly send: (request: object) => void,
  ) {}

  /** Hears an answer of the writer, or `null` when a new writer is ready: what the killed one left unanswered is sent again. */
  hear(message: unknown): void {
    if (message === null) {
      for (const entry of this.waiting.values()) entry.sentAt = 0;
      return;
    }
    const { key, outcome, error } = message as { key: string; outcome?: unknown; error?: string };
    const entry = this.waiting.get(key);
    if (error !== undefined) {
      // A busy server wrote nothing: the request waits and is sent again.
      if (error !== 'BUSY') this.complaints.push(error);
      return;
    }
    const text = JSON.stringify(outcome);
    const earlier = this.outcomes.get(key);
    if (earlier !== undefined && earlier !== text) this.complaints.push(`${key} gave ${earlier}, then ${text}`);
    this.outcomes.set(key, text);
    if (entry === undefined) return;
    this.waiting.delete(key);
    if (earlier === undefined) this.answered.push(entry.request);
  }

  /** Sends what is due; `more`: whether new requests are made. */
  step(more: boolean): void {
    const now = Date.now();
    for (const entry of this.waiting.values()) {
      if (now - entry.sentAt < IMPATIENCE) continue;
      entry.sentAt = now;
      this.retries += 1;
      this.send(entry.request);
    }
    while (more && this.waiting.size < IN_FLIGHT) {
      const again = this.answered.length > 0 && this.random() < REPEATS;
      const request = again ? pick(this.random, this.answered) : this.newRequest();
      if (again) this.retries += 1;
      this.waiting.set(request.key, { request, sentAt: now });
      this.send(request);
    }
  }

  /** Requests still without an answer. */
  get unanswered(): number {
    return this.waiting.size;
  }

  private newRequest(): Request {
    const { accountId, animalIds, keeperIds } = this.world;
    const first = pick(this.random, keeperIds);
    const second = pick(
      this.random,
      keeperIds.filter((id) => id !== first),
    );
    return { accountId, key: randomUUID(), animalId: pick(this.random, animalIds), toKeeperIds: [first, second] };
  }
}
