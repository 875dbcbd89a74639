import fc from 'fast-check';
import { packCandidates, sortPedigree, type Candidate, type Pedigree } from '../../libs/genetics/index.js';

/** A pedigree before it is sorted, with candidates for some parents and flags for a reference group. */
export interface World {
  readonly sire: readonly number[];
  readonly dam: readonly number[];
  readonly sires: ReadonlyMap<number, readonly Candidate[]>;
  readonly dams: ReadonlyMap<number, readonly Candidate[]>;
  readonly group: Uint8Array;
}

const side = fc.oneof(
  { weight: 6, arbitrary: fc.integer({ min: 0, max: 999 }).map((draw) => [draw]) },
  { weight: 1, arbitrary: fc.constant([] as number[]) },
);
const uncertainSide = fc.oneof(
  { weight: 4, arbitrary: side },
  { weight: 2, arbitrary: fc.array(fc.integer({ min: 0, max: 999 }), { minLength: 2, maxLength: 4 }) },
);

function worldOf(parents: fc.Arbitrary<number[]>, size: number): fc.Arbitrary<World> {
  return fc
    .array(fc.tuple(parents, parents, fc.boolean(), fc.integer({ min: 0, max: 9 })), { minLength: 1, maxLength: size })
    .map((animals) => {
      const sires = new Map<number, Candidate[]>();
      const dams = new Map<number, Candidate[]>();
      const parentOf = (draws: number[], i: number, founder: boolean, lists: Map<number, Candidate[]>): number => {
        const older = founder ? [] : [...new Set(draws.map((draw) => draw % i))];
        if (older.length < 2) return older[0] ?? -1;
        // Unequal probabilities that sum to 1: the weights 1, 2, 3 … by place.
        const total = (older.length * (older.length + 1)) / 2;
        lists.set(
          i,
          older.map((parent, k) => ({ parent, probability: (k + 1) / total })),
        );
        return -1;
      };
      const sire = animals.map(([draws, , , luck], i) => parentOf(draws, i, i === 0 || luck === 0, sires));
      const dam = animals.map(([, draws, , luck], i) => parentOf(draws, i, i === 0 || luck === 0, dams));
      const group = Uint8Array.from(animals, ([, , member], i) => (member || i === animals.length - 1 ? 1 : 0));
      return { sire, dam, sires, dams, group };
    });
}

/** Pedigrees of certain parents: selfing, half-known animals, overlapping generations, in any shape. */
export const certainWorld = worldOf(side, 40);

/** The same with several candidates for some parents, the same animal on both sides among them. */
export const uncertainWorld = worldOf(uncertainSide, 30);

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
