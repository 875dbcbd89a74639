import {
  type Candidate,
  type Candidates,
  inbreeding,
  knownAncestry,
  mendelianSamplings,
  packCandidates,
  type Pedigree,
  sortPedigree,
  UNKNOWN,
} from '../../genetics/index.js';
import { IdTable, type IdTableParts } from './animal-ids.core.js';
import { type ParentRole } from '../claims/parentage.core.js';
import { sharedCopy } from './shared-memory.core.js';

/** A stock record as a pedigree needs it. */
export type PedigreeRecord = {
  readonly id: string;
  /** An individual that is recorded as alive. */
  readonly alive: boolean;
  readonly declaredFounder: boolean;
  /** The record it goes on in; null for one that stands by itself. */
  readonly mergedIntoId: string | null;
};

/** One candidate of a claim in force. */
export type PedigreeClaim = {
  readonly childId: string;
  readonly role: ParentRole;
  /** Development without a sire: a claim on the sire, with no parent. */
  readonly withoutSire: boolean;
  readonly parentId: string | null;
  /** Above 0, at most 1. */
  readonly probability: number;
};

/** What is computed of a pedigree, in memory that threads can share. Arrays may be longer than `size`: room for births. */
export type PedigreeParts = {
  readonly size: number;
  readonly ids: IdTableParts;
  /** Merged records, and for each the number of the animal it is. */
  readonly merged: IdTableParts;
  readonly mergedInto: Int32Array;
  readonly sire: Int32Array;
  readonly dam: Int32Array;
  readonly order: Int32Array;
  readonly sireCandidates: Candidates | null;
  readonly damCandidates: Candidates | null;
  /** 1 = lives. */
  readonly alive: Uint8Array;
  /** 1 = declared a founder, and nothing recorded of a parent. */
  readonly founder: Uint8Array;
  readonly inbreeding: Float64Array;
  readonly knownAncestry: Float64Array;
  /** D of each (see `mendelianSamplings`), where somebody's parents have candidates: products would compute it each time. */
  readonly sampling: Float64Array | null;
};

/** A parent that is recorded and not in this pedigree: of another taxon. */
const OUTSIDE = -2;
/** Probabilities have eight decimals in the database: lists may be this far from summing to 1. */
const SUM_TOLERANCE = 1e-6;
const CLAIMED = { sire: 1, dam: 2 } as const;

/**
 * Collects a pedigree row by row and computes it. First all records, then all claims; either in any order.
 *
 * A merged record is another name of the animal it goes on in: its offspring are that animal's, and so are its parents,
 * as far as the record that goes on has no claim in force on them. A parent outside the pedigree counts as unknown, and so
 * does a list of candidates one of whom is outside or whose probabilities do not sum to 1. An animal without a sire has its dam in both places.
 */
export class PedigreeBuilder {
  private readonly ids: IdTable;
  private readonly merges: [id: string, into: string][] = [];
  private readonly mergedOf = new Map<string, number>();
  private alive: Uint8Array;
  private founder: Uint8Array;
  private claimed = new Uint8Array(0);
  private parents = { sire: new Int32Array(0), dam: new Int32Array(0) };
  private readonly lists = { sire: new Map<number, Candidate[]>(), dam: new Map<number, Candidate[]>() };
  private readonly withoutSire = new Set<number>();
  /** Claims on merged records wait for those on the records they go on in. */
  private readonly later: PedigreeClaim[] = [];
  private claimsBegan = false;

  constructor(expected = 1024) {
    this.ids = IdTable.withRoom(expected);
    this.alive = new Uint8Array(expected);
    this.founder = new Uint8Array(expected);
  }

  addRecord({ id, alive, declaredFounder, mergedIntoId }: PedigreeRecord): void {
    if (mergedIntoId !== null) {
      this.merges.push([id, mergedIntoId]);
      return;
    }
    const index = this.ids.add(id);
    if (index >= this.alive.length) {
      this.alive = longer(this.alive);
      this.founder = longer(this.founder);
    }
    this.alive[index] = alive ? 1 : 0;
    this.founder[index] = declaredFounder ? 1 : 0;
  }

  addClaim(claim: PedigreeClaim): void {
    this.beginClaims();
    const child = this.ids.placeOf(claim.childId);
    if (child >= 0) this.put(child, claim);
    else if (this.mergedOf.has(claim.childId)) this.later.push(claim);
  }

  /** Throws RangeError on a cycle, which the writes refuse. */
  finish(): PedigreeParts {
    this.beginClaims();
    this.addLaterClaims();
    const size = this.ids.size;
    this.settleLists('sire');
    this.settleLists('dam');
    const { sire, dam } = this.parents;
    for (const i of this.withoutSire) {
      sire[i] = dam[i] as number;
      const list = this.lists.dam.get(i);
      if (list !== undefined) this.lists.sire.set(i, list);
    }
    // What is recorded of a parent outside the pedigree counts here too: such an animal is no founder.
    for (let i = 0; i < size; i++) if (this.claimed[i] !== 0) this.founder[i] = 0;
    const pack = (lists: ReadonlyMap<number, readonly Candidate[]>): Candidates | undefined =>
      lists.size === 0 ? undefined : packCandidates(size, lists);
    const sorted = sortPedigree(sire, dam, pack(this.lists.sire), pack(this.lists.dam));
    if (sorted.kind === 'cyclic') throw new RangeError('The recorded pedigree holds a cycle.');
    return this.compute(sorted.pedigree);
  }

  private compute(pedigree: Pedigree): PedigreeParts {
    const size = this.ids.size;
    const room = size + Math.max(256, size >> 3);
    const founder = this.founder.subarray(0, size);
    const merged = IdTable.withRoom(this.mergedOf.size);
    const mergedInto = sharedCopy(new Int32Array(this.mergedOf.size));
    for (const [id, index] of this.mergedOf) mergedInto[merged.add(id)] = index;
    const f = inbreeding(pedigree);
    const isUncertain = pedigree.sireCandidates !== undefined || pedigree.damCandidates !== undefined;
    return {
      size,
      ids: this.ids.parts,
      merged: merged.parts,
      mergedInto,
      sire: sharedCopy(pedigree.sire, room),
      dam: sharedCopy(pedigree.dam, room),
      order: sharedCopy(pedigree.order, room),
      sireCandidates: shareCandidates(pedigree.sireCandidates),
      damCandidates: shareCandidates(pedigree.damCandidates),
      alive: sharedCopy(this.alive.subarray(0, size), room),
      founder: sharedCopy(founder, room),
      inbreeding: sharedCopy(f, room),
      knownAncestry: sharedCopy(knownAncestry(pedigree, founder), room),
      sampling: isUncertain ? sharedCopy(mendelianSamplings(pedigree, f), room) : null,
    };
  }

  private beginClaims(): void {
    if (this.claimsBegan) return;
    this.claimsBegan = true;
    const into = new Map(this.merges);
    for (const [id, first] of this.merges) {
      let keep = first;
      // A record may go on in one that itself went on; the count stops at merges that lead round.
      for (let step = into.get(keep), n = 0; step !== undefined && n < into.size; step = into.get(keep), n++)
        keep = step;
      const index = this.ids.placeOf(keep);
      if (index < 0) continue;
      this.mergedOf.set(id, index);
    }
    const size = this.ids.size;
    this.claimed = new Uint8Array(size);
    this.parents = { sire: new Int32Array(size).fill(UNKNOWN), dam: new Int32Array(size).fill(UNKNOWN) };
  }

  private put(child: number, { role, withoutSire, parentId, probability }: PedigreeClaim): void {
    this.claimed[child] = (this.claimed[child] as number) | CLAIMED[role];
    if (withoutSire) this.withoutSire.add(child);
    if (parentId === null) return;
    const place = this.ids.placeOf(parentId);
    const parent = place >= 0 ? place : (this.mergedOf.get(parentId) ?? OUTSIDE);
    if (probability === 1) {
      if (parent !== OUTSIDE) this.parents[role][child] = parent;
      return;
    }
    const list = this.lists[role].get(child);
    if (list === undefined) this.lists[role].set(child, [{ parent, probability }]);
    else list.push({ parent, probability });
  }

  private addLaterClaims(): void {
    // By record, the first registered first, so that of two merged records the older one's claim counts.
    this.later.sort((a, b) => (a.childId < b.childId ? -1 : a.childId > b.childId ? 1 : 0));
    const taken = new Map<string, string>(); // animal and role → the merged record whose claim counts
    for (const claim of this.later) {
      const child = this.mergedOf.get(claim.childId) as number;
      const place = `${child} ${claim.role}`;
      const by = taken.get(place);
      if (by === undefined && ((this.claimed[child] as number) & CLAIMED[claim.role]) !== 0) continue;
      if (by !== undefined && by !== claim.childId) continue;
      taken.set(place, claim.childId);
      this.put(child, claim);
    }
  }

  /** Leaves lists of two and more candidates; one who is left alone with all the probability becomes a certain parent. */
  private settleLists(role: ParentRole): void {
    const lists = this.lists[role];
    for (const [child, list] of lists) {
      const settled = settleCandidates(list);
      if (settled.length > 1) {
        lists.set(child, settled);
        continue;
      }
      lists.delete(child);
      const [only] = settled;
      if (only !== undefined) this.parents[role][child] = only.parent;
    }
  }
}

/**
 * Candidates that a computation can use: each animal once, probabilities summing to exactly 1. None where one is outside
 * the pedigree or the probabilities are not about 1 together: then the parent counts as unknown.
 */
export function settleCandidates(list: readonly Candidate[]): Candidate[] {
  const byParent = new Map<number, number>();
  let sum = 0;
  for (const { parent, probability } of list) {
    if (parent < 0) return [];
    byParent.set(parent, (byParent.get(parent) ?? 0) + probability);
    sum += probability;
  }
  if (Math.abs(sum - 1) > SUM_TOLERANCE) return [];
  return [...byParent].map(([parent, probability]) => ({ parent, probability: probability / sum }));
}

function longer(array: Uint8Array): Uint8Array {
  const copy = new Uint8Array(2 * array.length + 64);
  copy.set(array);
  return copy;
}

function shareCandidates(candidates: Candidates | undefined): Candidates | null {
  if (candidates === undefined) return null;
  const { start, parent, probability } = candidates;
  return { start: sharedCopy(start), parent: sharedCopy(parent), probability: sharedCopy(probability) };
}
