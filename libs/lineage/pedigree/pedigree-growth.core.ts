import {
  type Candidate,
  type Candidates,
  mendelianSamplings,
  relationshipProduct,
  UNKNOWN,
} from '../../genetics/index.js';
import { kinshipOfPair } from './kinship-of-pair.core.js';
import { type ParentRole } from '../claims/parentage.core.js';
import { settleCandidates } from './pedigree-builder.core.js';
import { type PedigreeMemory, type PedigreeSnapshot, viewOf } from './pedigree-snapshot.core.js';
import { sharedCopy, withRoomFor } from './shared-memory.core.js';

/** One claim in force, with all its candidates. */
export type ClaimNews = {
  readonly role: ParentRole;
  readonly withoutSire: boolean;
  readonly candidates: readonly {
    readonly parentId: string;
    readonly probability: number;
    /** Whether the parent is of this taxon. */
    readonly inside: boolean;
  }[];
};

/** A record as it is now, after something of it changed. */
export type AnimalNews = {
  readonly id: string;
  /** Whether its claims or its place in the pedigree changed; otherwise its fate or the like. */
  readonly inLineage: boolean;
  /** Whether it is (still) a record of this taxon. */
  readonly present: boolean;
  readonly alive: boolean;
  readonly declaredFounder: boolean;
  readonly mergedIntoId: string | null;
  readonly claims: readonly ClaimNews[];
};

/** Who the parent in one place is: an animal for certain (−1 = unknown), or one of several. */
type Parent = { readonly certain: number; readonly list: readonly Candidate[] };
const NOBODY: Parent = { certain: UNKNOWN, list: [] };

/**
 * Puts new animals behind their parents. Null when that is not possible: then the pedigree must be built anew, which
 * finds the fault.
 */
export function inOrderOfBirth(news: readonly AnimalNews[]): AnimalNews[] | null {
  const byId = new Map(news.map((each) => [each.id, each]));
  const placed = new Set<string>();
  const order: AnimalNews[] = [];
  const path: AnimalNews[] = [];
  for (const start of news) {
    if (!placed.has(start.id)) path.push(start);
    for (let next = path.at(-1); next !== undefined; next = path.at(-1)) {
      const before = next.claims
        .flatMap(({ candidates }) => candidates)
        .map(({ parentId }) => byId.get(parentId))
        .find((parent) => parent !== undefined && !placed.has(parent.id));
      if (before !== undefined) {
        if (path.length > news.length) return null;
        path.push(before);
        continue;
      }
      path.pop();
      if (!placed.has(next.id)) order.push(next);
      placed.add(next.id);
    }
  }
  return order;
}

/**
 * The snapshot with one change, or null when the coefficients of other animals may change with it: then the pedigree must
 * be built anew. A new animal is written behind those that are there; the snapshot before stays as it is. A change to an
 * animal that is known is made on a copy of the columns it touches: its fate, its declaration, and its parents as long as
 * nothing descends from it.
 */
export function withNews(before: PedigreeSnapshot, news: AnimalNews): PedigreeSnapshot | null {
  if (before.memory.merged.placeOf(news.id) >= 0) return withMergedNews(before, news);
  const index = before.indexOf.get(news.id);
  if (index === undefined && !news.present) return before;
  if (!news.present || news.mergedIntoId !== null) return null;
  // It came from another taxon: its young, if they are here, had it for unknown.
  if (index === undefined && !news.inLineage) return null;
  const sire = parentOf(before, news.claims, 'sire');
  const dam = parentOf(before, news.claims, 'dam');
  if (sire === null || dam === null) return null;
  const alone = news.claims.length === 0;
  const isFounder = news.declaredFounder && alone;
  if (index === undefined) return withBirth(before, news, isFounder, sire, dam);

  if (news.inLineage) {
    // What is recorded of a merged record's parents counts too, and is not in the news.
    if (before.memory.mergedInto.includes(index)) return null;
    const moved = withParents(before, index, sire, dam);
    return moved === null ? null : withFlags(moved, index, news.alive, isFounder);
  }
  return withFlags(before, index, news.alive, isFounder && !hasKnownParent(before, index));
}

/** Only a merge that stays as it is leaves the numbers alone: the fate of a merged record says nothing. */
function withMergedNews(before: PedigreeSnapshot, news: AnimalNews): PedigreeSnapshot | null {
  const stays =
    !news.inLineage &&
    news.present &&
    news.mergedIntoId !== null &&
    before.indexOf.get(news.mergedIntoId) === before.indexOf.get(news.id);
  return stays ? before : null;
}

function parentOf(before: PedigreeSnapshot, claims: readonly ClaimNews[], role: ParentRole): Parent | null {
  const claim = claims.find((each) => each.role === role);
  if (claim === undefined) return NOBODY;
  // Development without a sire is computed with the dam in both places.
  if (claim.withoutSire) return parentOf(before, claims, 'dam');
  const list: Candidate[] = [];
  for (const { parentId, probability, inside } of claim.candidates) {
    const parent = before.indexOf.get(parentId);
    if (inside && parent === undefined) return null;
    if (!inside || parent === undefined) return NOBODY;
    list.push({ parent, probability });
  }
  const [first, ...others] = settleCandidates(list);
  if (first === undefined) return NOBODY;
  return others.length === 0 ? { certain: first.parent, list: [] } : { certain: UNKNOWN, list: [first, ...others] };
}

function withBirth(
  before: PedigreeSnapshot,
  { id, alive }: AnimalNews,
  isFounder: boolean,
  sire: Parent,
  dam: Parent,
): PedigreeSnapshot | null {
  const { memory } = before;
  const n = before.ids.length;
  if (memory.ids.size !== n) return null; // a growth that failed half-way wrote beyond
  const size = n + 1;
  const grown: PedigreeMemory = {
    ...memory,
    sire: withRoomFor(memory.sire, size),
    dam: withRoomFor(memory.dam, size),
    order: withRoomFor(memory.order, size),
    sireCandidates: withList(memory.sireCandidates, n, sire.list),
    damCandidates: withList(memory.damCandidates, n, dam.list),
    alive: withRoomFor(memory.alive, size),
    founder: withRoomFor(memory.founder, size),
    inbreeding: withRoomFor(memory.inbreeding, size),
    knownAncestry: withRoomFor(memory.knownAncestry, size),
    sampling: samplingFor(before, sire.list.length + dam.list.length > 0, size),
  };
  grown.ids.add(id);
  grown.sire[n] = sire.certain;
  grown.dam[n] = dam.certain;
  grown.order[n] = n;
  grown.alive[n] = alive ? 1 : 0;
  grown.founder[n] = isFounder ? 1 : 0;
  grown.inbreeding[n] = inbreedingOf(before, sire, dam);
  grown.knownAncestry[n] = ancestryOf(before, isFounder, sire, dam);
  if (grown.sampling !== null) grown.sampling[n] = samplingOf(before, sire, dam);
  return viewOf(grown, size, before.version, before.seen);
}

/** The animal with other parents than before. Null where something descends from it, or candidates are or were among them. */
function withParents(before: PedigreeSnapshot, index: number, sire: Parent, dam: Parent): PedigreeSnapshot | null {
  const { pedigree, memory } = before;
  const listed = (candidates: Candidates | undefined): boolean =>
    candidates !== undefined && candidates.start[index] !== candidates.start[index + 1];
  if (sire.list.length + dam.list.length > 0) return null;
  if (listed(pedigree.sireCandidates) || listed(pedigree.damCandidates)) return null;
  if (pedigree.sire[index] === sire.certain && pedigree.dam[index] === dam.certain) return before;
  if (sire.certain === index || dam.certain === index || hasOffspring(before, index)) return null;
  const n = before.ids.length;
  const order = sharedCopy(memory.order);
  const place = order.indexOf(index);
  order.copyWithin(place, place + 1, n);
  order[n - 1] = index; // behind its new parents, and nothing is behind it
  const moved: PedigreeMemory = {
    ...memory,
    order,
    sire: sharedCopy(memory.sire),
    dam: sharedCopy(memory.dam),
    inbreeding: sharedCopy(memory.inbreeding),
    knownAncestry: sharedCopy(memory.knownAncestry),
    sampling: memory.sampling === null ? null : sharedCopy(memory.sampling),
    pairs: { ready: null },
  };
  if (moved.sampling !== null) moved.sampling[index] = samplingOf(before, sire, dam);
  moved.sire[index] = sire.certain;
  moved.dam[index] = dam.certain;
  moved.inbreeding[index] = inbreedingOf(before, sire, dam);
  moved.knownAncestry[index] = ancestryOf(before, false, sire, dam);
  return viewOf(moved, n, before.version, before.seen);
}

function withFlags(
  before: PedigreeSnapshot,
  index: number,
  alive: boolean,
  isFounder: boolean,
): PedigreeSnapshot | null {
  // A founder's descendants know more of their ancestry, or less: cheap to compute, but not here.
  if ((before.founder[index] === 1) !== isFounder && hasOffspring(before, index)) return null;
  const [aliveFlag, founderFlag] = [alive ? 1 : 0, isFounder ? 1 : 0];
  if (before.alive[index] === aliveFlag && before.founder[index] === founderFlag) return before;
  const { memory } = before;
  const alives = sharedCopy(memory.alive);
  alives[index] = aliveFlag;
  const isSame = before.founder[index] === founderFlag;
  const founder = isSame ? memory.founder : sharedCopy(memory.founder);
  const knownAncestry = isSame ? memory.knownAncestry : sharedCopy(memory.knownAncestry);
  founder[index] = founderFlag;
  if (!isSame && !hasKnownParent(before, index)) knownAncestry[index] = founderFlag;
  return viewOf({ ...memory, alive: alives, founder, knownAncestry }, before.ids.length, before.version, before.seen);
}

function hasKnownParent({ pedigree }: PedigreeSnapshot, index: number): boolean {
  const { sire, dam, sireCandidates, damCandidates } = pedigree;
  return (
    sire[index] !== UNKNOWN ||
    dam[index] !== UNKNOWN ||
    sireCandidates?.start[index] !== sireCandidates?.start[index + 1] ||
    damCandidates?.start[index] !== damCandidates?.start[index + 1]
  );
}

function hasOffspring({ pedigree }: PedigreeSnapshot, index: number): boolean {
  const { sire, dam, sireCandidates, damCandidates } = pedigree;
  return (
    sire.includes(index) ||
    dam.includes(index) ||
    sireCandidates?.parent.includes(index) === true ||
    damCandidates?.parent.includes(index) === true
  );
}

/** F of an animal with these parents: their kinship, over all pairs of candidates. One relationship product at most. */
function inbreedingOf(before: PedigreeSnapshot, sire: Parent, dam: Parent): number {
  if (before.sampling === undefined && sire.certain !== UNKNOWN && dam.certain !== UNKNOWN)
    return kinshipOfPair(before, sire.certain, dam.certain);
  const dams = candidatesOf(dam);
  if (candidatesOf(sire).length === 0 || dams.length === 0) return 0;
  const related = relationshipWith(before, sire);
  return dams.reduce((sum, { parent, probability }) => sum + 0.5 * probability * (related[parent] ?? 0), 0);
}

/** D of an animal with these parents: 1 − ¼(p′Ap + q′Aq), see `mendelianSamplings`. */
function samplingOf(before: PedigreeSnapshot, sire: Parent, dam: Parent): number {
  const self = (parent: Parent): number => {
    if (parent.certain !== UNKNOWN) return 1 + (before.inbreeding[parent.certain] ?? 0);
    if (parent.list.length === 0) return 0;
    const related = relationshipWith(before, parent);
    return parent.list.reduce((sum, each) => sum + each.probability * (related[each.parent] ?? 0), 0);
  };
  return 1 - 0.25 * (self(sire) + self(dam));
}

/** A·p: how every animal is related to a parent, over its candidates. */
function relationshipWith({ pedigree, inbreeding, sampling }: PedigreeSnapshot, of: Parent): Float64Array {
  const weights = new Float64Array(inbreeding.length);
  for (const { parent, probability } of candidatesOf(of)) weights[parent] = probability;
  return relationshipProduct(pedigree, inbreeding, weights, sampling);
}

/** Room for D of one more animal; the column begins with the first candidates. */
function samplingFor(before: PedigreeSnapshot, isUncertain: boolean, size: number): Float64Array | null {
  const { memory, pedigree, inbreeding } = before;
  if (memory.sampling !== null) return withRoomFor(memory.sampling, size);
  return isUncertain ? sharedCopy(mendelianSamplings(pedigree, inbreeding), memory.inbreeding.length + 1) : null;
}

function ancestryOf({ knownAncestry }: PedigreeSnapshot, isFounder: boolean, sire: Parent, dam: Parent): number {
  if (isFounder) return 1;
  const share = (parent: Parent): number =>
    candidatesOf(parent).reduce((sum, each) => sum + each.probability * (knownAncestry[each.parent] ?? 0), 0);
  return 0.5 * (share(sire) + share(dam));
}

function candidatesOf({ certain, list }: Parent): readonly Candidate[] {
  return certain === UNKNOWN ? list : [{ parent: certain, probability: 1 }];
}

/** Candidate lists with one more animal at the end. */
function withList(all: Candidates | null, n: number, list: readonly Candidate[]): Candidates | null {
  if (all === null && list.length === 0) return null;
  const start = all === null ? sharedCopy(new Int32Array(0), 2 * (n + 2)) : withRoomFor(all.start, n + 2);
  const used = start[n] as number;
  const end = used + list.length;
  const parent = all === null ? sharedCopy(new Int32Array(end)) : withRoomFor(all.parent, end);
  const probability = all === null ? sharedCopy(new Float64Array(end)) : withRoomFor(all.probability, end);
  list.forEach((candidate, k) => {
    parent[used + k] = candidate.parent;
    probability[used + k] = candidate.probability;
  });
  start[n + 1] = end;
  return { start, parent, probability };
}
