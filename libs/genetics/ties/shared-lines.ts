import type { Candidates, Pedigree } from '../pedigree/pedigree.js';

/**
 * The part of a pedigree through which two animals are related: the lines of either that lead to an ancestor of both.
 * Places 1 … count, each after its parents. Step e leads from place `child[e]` to one of its possible parents,
 * `parent[e]`; the steps from place k are `start[k]` … `start[k + 1]` − 1.
 */
export interface SharedLines {
  readonly count: number;
  readonly start: Int32Array;
  readonly child: Int32Array;
  readonly parent: Int32Array;
  /** 1 for a certain parent, less for a candidate. */
  readonly probability: Float64Array;
  /** 1 for a step to a dam, 0 to a sire. */
  readonly toDam: Uint8Array;
  /** Animal of each place. */
  readonly animal: Int32Array;
  /** Place of the two animals, 0 where they share no ancestor. */
  readonly a: number;
  readonly b: number;
  /** Kinship of the two: ½ Σ T_a·D·T_b over the shared ancestors. */
  readonly kinship: number;
}

/**
 * Finds the lines that two animals share. O(n) memory, time by the number of their ancestors.
 *
 * @param samplingOf D of an animal
 */
export function sharedLines(
  pedigree: Pedigree,
  a: number,
  b: number,
  samplingOf: (animal: number) => number,
): SharedLines {
  const found = ancestorsOf(pedigree, a, b);
  const all = found.length;
  const placeOf = new Map<number, number>();
  found.forEach((animal, k) => placeOf.set(animal, k));
  const ofA = genesThrough(pedigree, found, placeOf, a);
  const ofB = genesThrough(pedigree, found, placeOf, b);
  const useful = new Uint8Array(all);
  let kinship = 0;
  found.forEach((animal, k) => {
    const shared = (ofA[k] as number) * (ofB[k] as number);
    if (shared > 0) kinship += 0.5 * shared * samplingOf(animal);
    if ((ofA[k] as number) > 0 && (ofB[k] as number) > 0) useful[k] = 1;
    else
      eachParent(
        pedigree,
        animal,
        (parent) => (useful[k] = (useful[k] as number) | (useful[placeOf.get(parent) as number] as number)),
      );
  });

  const kept = new Int32Array(all);
  let count = 0;
  for (let k = 0; k < all; k++) if (useful[k] === 1) kept[k] = ++count;
  const steps: { child: number; parent: number; probability: number; toDam: number }[] = [];
  const start = new Int32Array(count + 2);
  const animalAt = new Int32Array(count + 1).fill(-1);
  found.forEach((animal, k) => {
    const place = kept[k] as number;
    if (place === 0) return;
    start[place] = steps.length;
    animalAt[place] = animal;
    eachParent(pedigree, animal, (parent, probability, toDam) => {
      const to = kept[placeOf.get(parent) as number] as number;
      if (to > 0) steps.push({ child: place, parent: to, probability, toDam });
    });
  });
  start[count + 1] = steps.length;
  return {
    count,
    start,
    child: Int32Array.from(steps, (step) => step.child),
    parent: Int32Array.from(steps, (step) => step.parent),
    probability: Float64Array.from(steps, (step) => step.probability),
    toDam: Uint8Array.from(steps, (step) => step.toDam),
    animal: animalAt,
    a: kept[placeOf.get(a) as number] as number,
    b: kept[placeOf.get(b) as number] as number,
    kinship,
  };
}

/** Two animals and all their ancestors, parents before children. Depth first with its own stack. */
function ancestorsOf(pedigree: Pedigree, a: number, b: number): number[] {
  const met = new Uint8Array(pedigree.order.length);
  const found: number[] = [];
  for (const root of [a, b]) {
    if (met[root] === 1) continue;
    met[root] = 1;
    const path = [{ animal: root, ahead: parentsOf(pedigree, root) }];
    for (let top = path.at(-1); top; top = path.at(-1)) {
      const next = top.ahead.pop();
      if (next === undefined) {
        found.push(top.animal);
        path.pop();
      } else if (met[next] === 0) {
        met[next] = 1;
        path.push({ animal: next, ahead: parentsOf(pedigree, next) });
      }
    }
  }
  return found;
}

/** Share of the genes of an animal that comes through each of its ancestors, itself 1. */
function genesThrough(
  pedigree: Pedigree,
  found: readonly number[],
  placeOf: ReadonlyMap<number, number>,
  animal: number,
): Float64Array {
  const share = new Float64Array(found.length);
  const top = placeOf.get(animal) as number;
  share[top] = 1;
  for (let k = top; k >= 0; k--) {
    const half = 0.5 * (share[k] as number);
    if (half === 0) continue;
    eachParent(pedigree, found[k] as number, (parent, probability) => {
      const place = placeOf.get(parent) as number;
      share[place] = (share[place] as number) + half * probability;
    });
  }
  return share;
}

function parentsOf(pedigree: Pedigree, animal: number): number[] {
  const parents: number[] = [];
  eachParent(pedigree, animal, (parent) => parents.push(parent));
  return parents.reverse(); // they are taken from the end: sire first
}

function eachParent(
  { sire, dam, sireCandidates, damCandidates }: Pedigree,
  animal: number,
  visit: (parent: number, probability: number, toDam: 0 | 1) => void,
): void {
  const side = (certain: Int32Array, candidates: Candidates | undefined, toDam: 0 | 1): void => {
    const parent = certain[animal] as number;
    if (parent >= 0) visit(parent, 1, toDam);
    else if (candidates)
      for (let k = candidates.start[animal] as number; k < (candidates.start[animal + 1] as number); k++)
        visit(candidates.parent[k] as number, candidates.probability[k] as number, toDam);
  };
  side(sire, sireCandidates, 0);
  side(dam, damCandidates, 1);
}
