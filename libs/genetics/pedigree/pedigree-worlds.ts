import { packCandidates, type Candidate } from './candidates.js';
import type { Pedigree } from './pedigree.js';
import { seededRandom } from '../population/random.js';
import { sortPedigree } from './sort-pedigree.js';

// Pedigrees for the tests of this folder, and a slow and plain method to compare with. No part of the library.

/** A pedigree before it is sorted, with candidates for some parents and flags for a reference group. */
export interface World {
  readonly sire: readonly number[];
  readonly dam: readonly number[];
  readonly sires: ReadonlyMap<number, readonly Candidate[]>;
  readonly dams: ReadonlyMap<number, readonly Candidate[]>;
  readonly group: Uint8Array;
}

/** A pedigree of certain parents: selfing, half-known animals, overlapping generations. One number an animal, any numbers. */
export function certainWorld(draws: readonly number[]): World {
  return worldOf(draws, 0);
}

/** The same with two to four candidates for a third of the parents, some of them on both sides of one animal. */
export function uncertainWorld(draws: readonly number[]): World {
  return worldOf(draws, 1 / 3);
}

function worldOf(draws: readonly number[], uncertain: number): World {
  const sire: number[] = [];
  const dam: number[] = [];
  const sires = new Map<number, Candidate[]>();
  const dams = new Map<number, Candidate[]>();
  const group = new Uint8Array(draws.length);
  draws.forEach((draw, i) => {
    const random = seededRandom(draw);
    group[i] = random() < 0.5 || i === draws.length - 1 ? 1 : 0;
    const isFounder = i === 0 || random() < 0.1;
    const drawParent = (lists: Map<number, Candidate[]>): number => {
      if (isFounder || random() < 1 / 7) return -1;
      const count = random() < uncertain ? 2 + Math.floor(3 * random()) : 1;
      const older = [...new Set(Array.from({ length: count }, () => Math.floor(random() * i)))];
      if (older.length === 1) return older[0] ?? -1;
      // Unequal probabilities that sum to 1: the weights 1, 2, 3 … by place.
      const total = (older.length * (older.length + 1)) / 2;
      lists.set(
        i,
        older.map((parent, k) => ({ parent, probability: (k + 1) / total })),
      );
      return -1;
    };
    sire[i] = drawParent(sires);
    dam[i] = drawParent(dams);
  });
  return { sire, dam, sires, dams, group };
}

/** The pedigree of a world. */
export function pedigreeOf({ sire, dam, sires, dams }: Omit<World, 'group'>): Pedigree {
  const n = sire.length;
  const sorted = sortPedigree(
    Int32Array.from(sire),
    Int32Array.from(dam),
    packCandidates(n, sires),
    packCandidates(n, dams),
  );
  if (sorted.kind === 'cyclic') throw new Error('cyclic');
  return sorted.pedigree;
}

/** A pedigree of certain parents written as pairs [sire, dam], −1 = unknown. */
export function pedigreeOfPairs(parents: readonly (readonly [sire: number, dam: number])[]): Pedigree {
  const sire = parents.map(([s]) => s);
  const dam = parents.map(([, d]) => d);
  return pedigreeOf({ sire, dam, sires: new Map(), dams: new Map() });
}

/** The world with its animals in another order: animal i stands at `place[i]`. */
export function moved(world: World, place: readonly number[]): World {
  const to = (parent: number): number => (parent < 0 ? -1 : (place[parent] ?? -1));
  const sire: number[] = [];
  const dam: number[] = [];
  const group = new Uint8Array(world.group.length);
  place.forEach((at, i) => {
    sire[at] = to(world.sire[i] ?? -1);
    dam[at] = to(world.dam[i] ?? -1);
    group[at] = world.group[i] ?? 0;
  });
  const movedLists = (lists: World['sires']) =>
    new Map([...lists].map(([i, list]) => [to(i), list.map((c) => ({ ...c, parent: to(c.parent) }))]));
  return { sire, dam, group, sires: movedLists(world.sires), dams: movedLists(world.dams) };
}

/**
 * The whole kinship matrix by the tabular method (Emik & Terrill 1949), the row of an animal with several candidate parents
 * being the average of theirs (Henderson 1988). Slow and plain. `founderShare` restricts the table to the genes of one
 * founder: its kinship with itself is then ½ as always, that of other founders 0.
 */
export function tabularKinship(pedigree: Pedigree, founder?: number): number[][] {
  const n = pedigree.order.length;
  const f = Array.from({ length: n }, () => new Array<number>(n).fill(0));
  const share = new Array<number>(n).fill(0);
  const listOf = (i: number, which: 'sire' | 'dam'): [parent: number, probability: number][] => {
    const certain = pedigree[which][i] as number;
    if (certain >= 0) return [[certain, 1]];
    const lists = which === 'sire' ? pedigree.sireCandidates : pedigree.damCandidates;
    const keys = lists ? [...lists.parent.keys()].slice(lists.start[i], lists.start[i + 1]) : [];
    return keys.map((k) => [lists?.parent[k] ?? -1, lists?.probability[k] ?? 0]);
  };
  const at = (i: number, j: number): number => f[i]?.[j] ?? 0;
  const done: number[] = [];
  for (const i of pedigree.order) {
    const sires = listOf(i, 'sire');
    const dams = listOf(i, 'dam');
    const isFounder = sires.length === 0 && dams.length === 0;
    const mean = (list: [number, number][], value: (parent: number) => number): number =>
      list.reduce((sum, [parent, p]) => sum + p * value(parent), 0);
    for (const j of done) {
      const value = 0.5 * (mean(sires, (k) => at(k, j)) + mean(dams, (k) => at(k, j)));
      (f[i] as number[])[j] = value;
      (f[j] as number[])[i] = value;
    }
    const unknown = founder === undefined ? 1 : 0;
    const ofSide = (list: [number, number][]): number =>
      list.length === 0 ? unknown : mean(list, (k) => share[k] ?? 0);
    share[i] = isFounder ? (founder === undefined || founder === i ? 1 : 0) : 0.5 * (ofSide(sires) + ofSide(dams));
    (f[i] as number[])[i] = 0.5 * ((share[i] ?? 0) + mean(sires, (k) => mean(dams, (l) => at(k, l))));
    done.push(i);
  }
  return f;
}
