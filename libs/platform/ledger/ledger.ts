import { createHash, randomBytes } from 'node:crypto';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { canonicalJson } from '../canonical.js';

/**
 * One kind of ledger entry. Stored entries are read for ever: a changed body needs a new `version`, the old schema stays.
 * The schema is strict, so that personal text cannot slip into the body.
 */
export type LedgerAction<T> = { readonly name: string; readonly version: number; readonly body: z.ZodType<T> };

const commitments = z.record(z.string(), z.string().regex(/^[0-9a-f]{64}$/));
const actions = new Map<string, LedgerAction<unknown>>();

/**
 * Declares a kind of entry: a past-tense name such as `transfer.offered` and the schema of its body. Throws where the name has
 * this version already.
 */
export function defineLedgerAction<T>(name: string, version: number, body: z.ZodType<T>): LedgerAction<T> {
  const action = { name, version, body };
  const key = `${name} ${version}`;
  if (actions.has(key)) throw new Error(`Two kinds of ledger entries are called ${key}.`);
  actions.set(key, action);
  return action;
}

/**
 * The body of a stored entry, checked by the schema it was written with, without the commitments to personal text. Throws for a
 * kind that no loaded module declares, and for a body that is not what its schema says.
 */
export function readLedgerBody(entry: Pick<LedgerFacts, 'action' | 'schemaVersion' | 'body'>): unknown {
  const action = actions.get(`${entry.action} ${entry.schemaVersion}`);
  if (action === undefined) throw new Error(`No kind of ledger entry is ${entry.action} ${entry.schemaVersion}.`);
  const { personal, ...body } = JSON.parse(entry.body) as Record<string, unknown>;
  if (personal !== undefined) commitments.parse(personal);
  return action.body.parse(body);
}

/** The part of an entry that is hashed, in the order RFC 8785 gives it. */
export type LedgerFacts = {
  readonly id: string;
  readonly at: Date;
  readonly actorId: string | null;
  readonly action: string;
  readonly schemaVersion: number;
  readonly subjects: readonly string[];
  readonly body: string;
};

/**
 * Leaf hash of an entry: SHA-256 over the byte 0x00 and the canonical entry (RFC 9162 section 2.1.1), so that a leaf can
 * never be taken for an inner node of the Merkle tree that will be built over the entries. 32 bytes.
 */
export function leafHash(entry: LedgerFacts): Uint8Array<ArrayBuffer> {
  const canonical = canonicalJson({ ...entry, at: entry.at.toISOString() });
  const hash = createHash('sha256').update(Uint8Array.of(0)).update(canonical, 'utf8').digest();
  return Uint8Array.from(hash);
}

/** Hash that stands for personal text in an entry: SHA-256 over a random salt of 16 bytes and the text. */
export function commitment(salt: Uint8Array, text: string): string {
  return createHash('sha256').update(salt).update(text, 'utf8').digest('hex');
}

/** Text about a person behind a salted commitment of an entry. */
type Personal = { readonly path: string; readonly value: string; readonly salt: Uint8Array };

/** An entry that waits to be written, with the personal text it commits to. */
export type NewEntry = {
  readonly facts: LedgerFacts;
  readonly leafHash: Uint8Array;
  readonly personal: readonly Personal[];
};

/** Takes the ledger entries of one transaction; the unit of work writes them before it commits. */
export class LedgerWriter {
  private entries: NewEntry[] = [];

  constructor(
    private readonly now: Date,
    private readonly actorId: string | null,
  ) {}

  /**
   * Adds one entry. `subjects` are the ids it is about. `personal` maps a path to text about a person; the entry holds
   * a salted hash of it, the text itself goes to a row that may be deleted.
   */
  append<T>(
    action: LedgerAction<T>,
    entry: { subjects: readonly string[]; body: T; personal?: Record<string, string> },
  ): Promise<void> {
    const salted = Object.entries(entry.personal ?? {}).map(([path, value]) => ({
      path,
      value,
      salt: randomBytes(16),
    }));
    const personal = Object.fromEntries(salted.map(({ path, value, salt }) => [path, commitment(salt, value)]));
    const facts: LedgerFacts = {
      id: uuid(),
      at: this.now,
      actorId: this.actorId,
      action: action.name,
      schemaVersion: action.version,
      subjects: entry.subjects,
      body: canonicalJson({
        ...(action.body.parse(entry.body) as object),
        ...(salted.length === 0 ? {} : { personal }),
      }),
    };
    this.entries.push({ facts, leafHash: leafHash(facts), personal: salted });
    return Promise.resolve();
  }

  /** The entries taken since the last call. */
  takeAll(): NewEntry[] {
    return this.entries.splice(0);
  }
}
