import { type Candidates, type PairKinship, type Pedigree, UNKNOWN } from '../../genetics/index.js';
import { type AnimalList, type AnimalNumbers, IdTable } from './animal-ids.core.js';
import {
  PedigreeBuilder,
  type PedigreeClaim,
  type PedigreeParts,
  type PedigreeRecord,
} from './pedigree-builder.core.js';

/**
 * The pedigree of one taxon as of a version, with what is computed from it. Animals are numbered from 0; a new animal gets
 * the next number, and numbers hold until the pedigree is built anew. A snapshot never changes.
 */
export type PedigreeSnapshot = {
  readonly version: bigint;
  /** The database snapshot it was read under (`pg_current_snapshot()`). */
  readonly seen: string;
  /** Animals by number; `ids.length` is the number of animals n. Merged records are not among them. */
  readonly ids: AnimalList;
  /** Numbers by id. A merged record has the number of the animal that it goes on in. */
  readonly indexOf: AnimalNumbers;
  readonly pedigree: Pedigree;
  /** Inbreeding coefficient of each. */
  readonly inbreeding: Float64Array;
  /** Share of the ancestry of each that leads back to declared founders. */
  readonly knownAncestry: Float64Array;
  /** D of each where parents have candidates, else undefined: the last argument of products, kinships and mean kinships. */
  readonly sampling: Float64Array | undefined;
  /** 1 = an individual that lives. */
  readonly alive: Uint8Array;
  /** 1 = declared a founder, and nothing recorded of a parent. */
  readonly founder: Uint8Array;
  /** Stands for the numbering: snapshots with the same object here number the animals that they share alike. */
  readonly numbering: object;
  /** What it is a view of; for those who make snapshots. */
  readonly memory: PedigreeMemory;
};

/**
 * The memory behind snapshots of one pedigree. Animals are appended; what a snapshot shows is not written again. `ids.size`
 * tells how far it is written.
 */
export type PedigreeMemory = Omit<PedigreeParts, 'size' | 'ids' | 'merged'> & {
  readonly ids: IdTable;
  readonly merged: IdTable;
  /** Kinships of pairs among the first `size` animals, once they were asked for. */
  readonly pairs: { ready: { readonly of: PairKinship; readonly size: number } | null };
};

/** One known ancestor: `path` leads to it from the animal, `s` to the sire and `d` to the dam (`sd` = the sire's dam). */
export type AncestorPlace = { readonly path: string; readonly id: string };

/** The snapshot of what a thread has computed. Nothing is copied. */
export function openSnapshot(parts: PedigreeParts, version: bigint, seen: string): PedigreeSnapshot {
  const { size, ids, merged, ...columns } = parts;
  const memory = { ...columns, ids: IdTable.of(ids), merged: IdTable.of(merged), pairs: { ready: null } };
  return viewOf(memory, size, version, seen);
}

/** The first `size` animals of a memory, as of a version. O(1). */
export function viewOf(memory: PedigreeMemory, size: number, version: bigint, seen: string): PedigreeSnapshot {
  const { ids, merged, mergedInto } = memory;
  const candidates = (all: Candidates | null): Candidates | undefined => {
    if (all === null) return undefined;
    const end = all.start[size] as number;
    return {
      start: all.start.subarray(0, size + 1),
      parent: all.parent.subarray(0, end),
      probability: all.probability.subarray(0, end),
    };
  };
  return {
    version,
    seen,
    ids: { length: size, at: (index) => (index >= 0 && index < size ? ids.idAt(index) : undefined) },
    indexOf: {
      get: (id) => {
        const place = ids.placeOf(id);
        if (place >= 0) return place < size ? place : undefined;
        const alias = merged.placeOf(id);
        return alias < 0 ? undefined : mergedInto[alias];
      },
    },
    pedigree: {
      sire: memory.sire.subarray(0, size),
      dam: memory.dam.subarray(0, size),
      order: memory.order.subarray(0, size),
      sireCandidates: candidates(memory.sireCandidates),
      damCandidates: candidates(memory.damCandidates),
    },
    inbreeding: memory.inbreeding.subarray(0, size),
    knownAncestry: memory.knownAncestry.subarray(0, size),
    alive: memory.alive.subarray(0, size),
    sampling: memory.sampling?.subarray(0, size),
    founder: memory.founder.subarray(0, size),
    numbering: ids,
    memory,
  };
}

/** Computes a pedigree from scratch. Throws RangeError for an id that is no UUID, and on a cycle, which the writes refuse. */
export function buildSnapshot(
  records: Iterable<PedigreeRecord>,
  claims: Iterable<PedigreeClaim>,
  version: bigint,
  seen = '',
): PedigreeSnapshot {
  const builder = new PedigreeBuilder();
  for (const record of records) builder.addRecord(record);
  for (const claim of claims) builder.addClaim(claim);
  return openSnapshot(builder.finish(), version, seen);
}

/** Numbers of the animals that are or may be a parent of an animal: the sire or its candidates, then the dam's. An animal without a sire gives its dam twice. */
export function possibleParents(pedigree: Pedigree, index: number): number[] {
  const { sire, dam, sireCandidates, damCandidates } = pedigree;
  return [...ofRole(sire, sireCandidates, index), ...ofRole(dam, damCandidates, index)];
}

/** The known ancestors of an animal over some generations, nearest first, sire before dam. Empty for an animal not in the pedigree. */
export function ancestorPlaces(snapshot: PedigreeSnapshot, id: string, generations: number): AncestorPlace[] {
  const start = snapshot.indexOf.get(id);
  const places: AncestorPlace[] = [];
  let level = start === undefined ? [] : [{ path: '', index: start }];
  for (let generation = 0; generation < generations && level.length > 0; generation++) {
    level = level.flatMap(({ path, index }) => [
      { path: `${path}s`, index: snapshot.pedigree.sire[index] ?? UNKNOWN },
      { path: `${path}d`, index: snapshot.pedigree.dam[index] ?? UNKNOWN },
    ]);
    level = level.filter((place) => place.index !== UNKNOWN);
    for (const { path, index } of level) places.push({ path, id: snapshot.ids.at(index) ?? '' });
  }
  return places;
}

/** The animal and everything that is or may be an ancestor of it, each once; the animal alone where it is not in the pedigree. */
export function lineOf(snapshot: PedigreeSnapshot, id: string): string[] {
  const start = snapshot.indexOf.get(id);
  if (start === undefined) return [id];
  const seen = new Set([start]);
  for (const index of seen) for (const parent of possibleParents(snapshot.pedigree, index)) seen.add(parent);
  return [...seen].map((index) => snapshot.ids.at(index) ?? '');
}

function ofRole(certain: Int32Array, candidates: Candidates | undefined, index: number): number[] {
  const parent = certain[index] ?? UNKNOWN;
  if (parent !== UNKNOWN) return [parent];
  if (candidates === undefined) return [];
  return [...candidates.parent.subarray(candidates.start[index] ?? 0, candidates.start[index + 1] ?? 0)];
}
