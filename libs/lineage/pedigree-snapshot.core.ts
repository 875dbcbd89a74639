import { inbreeding, kinship, knownAncestry, type Pedigree, sortPedigree, UNKNOWN } from '../genetics/index.js';

/** An animal and its parents as far as they are certain: one candidate, probability 1. Null = unknown. */
export type KnownParents = { readonly id: string; readonly sireId: string | null; readonly damId: string | null };

/** The pedigree of one taxon as of a version, with what is computed from it. Animals are numbered in the order they came. */
export type PedigreeSnapshot = {
  readonly version: bigint;
  readonly ids: readonly string[];
  readonly indexOf: ReadonlyMap<string, number>;
  readonly pedigree: Pedigree;
  /** Inbreeding coefficient of each. */
  readonly inbreeding: Float64Array;
  /** Share of the ancestry of each that leads back to founders. */
  readonly knownAncestry: Float64Array;
};

/** One known ancestor: `path` leads to it from the animal, `s` to the sire and `d` to the dam (`sd` = the sire's dam). */
export type AncestorPlace = { readonly path: string; readonly id: string };

/** Computes a pedigree from scratch. A parent outside the list counts as unknown. Throws RangeError on a cycle, which the writes refuse. */
export function buildSnapshot(animals: readonly KnownParents[], version: bigint): PedigreeSnapshot {
  const ids = animals.map((animal) => animal.id);
  const indexOf = new Map(ids.map((id, index) => [id, index]));
  const numberOf = (id: string | null): number => (id === null ? UNKNOWN : (indexOf.get(id) ?? UNKNOWN));
  const sorted = sortPedigree(
    Int32Array.from(animals, (animal) => numberOf(animal.sireId)),
    Int32Array.from(animals, (animal) => numberOf(animal.damId)),
  );
  if (sorted.kind === 'cyclic') throw new RangeError('The recorded pedigree holds a cycle.');
  const { pedigree } = sorted;
  return { version, ids, indexOf, pedigree, inbreeding: inbreeding(pedigree), knownAncestry: knownAncestry(pedigree) };
}

/**
 * The snapshot with changes added, or null when they touch an animal that is in it already, or stand before their parents:
 * then the coefficients of others may change and `buildSnapshot` must run. A birth costs one relationship product.
 */
export function extendSnapshot(
  before: PedigreeSnapshot,
  added: readonly KnownParents[],
  version: bigint,
): PedigreeSnapshot | null {
  const n = before.ids.length;
  const total = n + added.length;
  const indexOf = new Map(before.indexOf);
  const sire = grow(before.pedigree.sire, total);
  const dam = grow(before.pedigree.dam, total);
  const order = grow(before.pedigree.order, total);
  const f = new Float64Array(total);
  f.set(before.inbreeding);
  for (const [k, animal] of added.entries()) {
    const i = n + k;
    const s = animal.sireId === null ? UNKNOWN : indexOf.get(animal.sireId);
    const d = animal.damId === null ? UNKNOWN : indexOf.get(animal.damId);
    if (indexOf.has(animal.id) || s === undefined || d === undefined) return null;
    indexOf.set(animal.id, i);
    sire[i] = s;
    dam[i] = d;
    order[i] = i;
    if (s === UNKNOWN || d === UNKNOWN) continue;
    const known = { sire: sire.subarray(0, i), dam: dam.subarray(0, i), order: order.subarray(0, i) };
    f[i] = kinship(known, f.subarray(0, i), s, d);
  }
  const pedigree = { sire, dam, order };
  return {
    version,
    ids: [...before.ids, ...added.map((animal) => animal.id)],
    indexOf,
    pedigree,
    inbreeding: f,
    knownAncestry: knownAncestry(pedigree),
  };
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
    for (const { path, index } of level) places.push({ path, id: snapshot.ids[index] ?? '' });
  }
  return places;
}

/** The animal and all its known ancestors, each once; the animal alone where it is not in the pedigree. */
export function lineOf(snapshot: PedigreeSnapshot, id: string): string[] {
  const { sire, dam } = snapshot.pedigree;
  const start = snapshot.indexOf.get(id);
  if (start === undefined) return [id];
  const seen = new Set([start]);
  for (const index of seen)
    for (const parent of [sire[index] ?? UNKNOWN, dam[index] ?? UNKNOWN]) if (parent !== UNKNOWN) seen.add(parent);
  return [...seen].map((index) => snapshot.ids[index] ?? '');
}

function grow(array: Int32Array, length: number): Int32Array {
  const longer = new Int32Array(length);
  longer.set(array);
  return longer;
}
