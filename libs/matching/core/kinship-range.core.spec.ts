import { expect, it } from '@jest/globals';
import fc from 'fast-check';
import {
  type Candidate,
  inbreeding,
  kinship,
  packCandidates,
  type Pedigree,
  sortPedigree,
} from '../../genetics/index.js';
import { kinshipRange } from './kinship-range.core.js';
import { unknownsOf } from './unknowns.core.js';

const U = -1;

function pedigreeOf(
  sire: number[],
  dam: number[],
  sires: Record<number, Candidate[]> = {},
  dams: Record<number, Candidate[]> = {},
) {
  const lists = (all: Record<number, Candidate[]>) =>
    packCandidates(sire.length, new Map(Object.entries(all).map(([animal, list]) => [Number(animal), list])));
  const sorted = sortPedigree(Int32Array.from(sire), Int32Array.from(dam), lists(sires), lists(dams));
  if (sorted.kind === 'cyclic') throw new Error('cyclic');
  return sorted.pedigree;
}
const even = (...parents: number[]): Candidate[] =>
  parents.map((parent) => ({ parent, probability: 1 / parents.length }));
const rangeOf = (pedigree: Pedigree, a: number, b: number) =>
  kinshipRange(pedigree, a, b, kinship(pedigree, inbreeding(pedigree), a, b));

it('is a point where all parents are certain', () => {
  // Full siblings 2 and 3 of 0 × 1.
  const pedigree = pedigreeOf([U, U, 0, 0], [U, U, 1, 1]);
  expect(rangeOf(pedigree, 2, 3)).toEqual({ low: 0.25, high: 0.25, exact: true, uncertainParents: 0 });
});

it('runs from half to full siblings where one of two sires is the father of the other', () => {
  // 3 is of sire 0 and dam 2, 4 of the same dam and sire 0 or 1.
  const pedigree = pedigreeOf([U, U, U, 0, U], [U, U, U, 2, 2], { 4: even(0, 1) });
  expect(rangeOf(pedigree, 3, 4)).toEqual({ low: 0.125, high: 0.25, exact: true, uncertainParents: 1 });
});

it('names the gaps by their place, never an animal', () => {
  const pedigree = pedigreeOf([U, U, U, 0, U, U, 4], [U, U, U, 2, 2, U, U], { 4: even(0, 1) });
  const founder = Uint8Array.of(1, 1, 1, 0, 0, 0, 0);
  expect(unknownsOf({ pedigree, founder }, 3, 6)).toEqual([
    'the sire’s dam is not known',
    'the sire’s sire’s sire has 2 candidates',
  ]);
  expect(unknownsOf({ pedigree, founder }, 5, 0)).toEqual(['the parents of the dam are not known']);
});

/** Parents before children; each parent place unknown, one animal, or two to four candidates. */
const herd = fc
  .array(fc.tuple(fc.array(fc.nat(), { maxLength: 3 }), fc.array(fc.nat(), { maxLength: 3 })), {
    minLength: 3,
    maxLength: 11,
  })
  .map((rows) => {
    const [sire, dam]: number[][] = [[], []];
    const [sires, dams]: Record<number, Candidate[]>[] = [{}, {}];
    rows.forEach(([left, right], animal) => {
      const place = (picks: number[], certain: number[], lists: Record<number, Candidate[]>): void => {
        const parents = animal === 0 ? [] : [...new Set(picks.map((pick) => pick % animal))];
        certain.push(parents.length === 1 ? (parents[0] as number) : U);
        if (parents.length > 1) lists[animal] = even(...parents);
      };
      place(left, sire as number[], sires as Record<number, Candidate[]>);
      place(right, dam as number[], dams as Record<number, Candidate[]>);
    });
    return pedigreeOf(sire as number[], dam as number[], sires, dams);
  });

/** Every choice of candidates, by plain recursion over pairs (Malécot). */
function everyKinship(pedigree: Pedigree, a: number, b: number): number[] {
  const n = pedigree.order.length;
  const slots = (['sire', 'dam'] as const).flatMap((role) => {
    const all = role === 'sire' ? pedigree.sireCandidates : pedigree.damCandidates;
    return Array.from({ length: n }, (_, child) => ({
      role,
      child,
      options: [...(all?.parent.subarray(all.start[child], all.start[child + 1]) ?? [])],
    })).filter(({ options }) => options.length > 0);
  });
  const [sire, dam] = [[...pedigree.sire], [...pedigree.dam]];
  const f = (i: number, j: number): number => {
    if (i < 0 || j < 0) return 0;
    if (i === j) return 0.5 * (1 + f(sire[i] as number, dam[i] as number));
    const [young, old] = i > j ? [i, j] : [j, i];
    return 0.5 * (f(sire[young] as number, old) + f(dam[young] as number, old));
  };
  const values: number[] = [];
  const choose = (at: number): void => {
    const slot = slots[at];
    if (slot === undefined) {
      values.push(f(a, b));
      return;
    }
    for (const option of slot.options) {
      (slot.role === 'sire' ? sire : dam)[slot.child] = option;
      choose(at + 1);
    }
  };
  choose(0);
  return values;
}

it('holds every choice of candidates, and its ends where it is exact', () => {
  fc.assert(
    fc.property(
      herd.filter((pedigree) => choicesOf(pedigree) <= 3_000),
      fc.nat(),
      fc.nat(),
      (pedigree, x, y) => {
        const n = pedigree.order.length;
        const [a, b] = [x % n, y % n];
        const range = rangeOf(pedigree, a, b);
        const values = everyKinship(pedigree, a, b);
        const [low, high] = [Math.min(...values), Math.max(...values)];
        expect(range?.low).toBeLessThanOrEqual(low + 1e-12);
        expect(range?.high).toBeGreaterThanOrEqual(high - 1e-12);
        if (range?.exact !== true) return;
        expect(range.low).toBeCloseTo(low, 12);
        expect(range.high).toBeCloseTo(high, 12);
      },
    ),
    { numRuns: 150 },
  );
});

function choicesOf({ sireCandidates, damCandidates, order }: Pedigree): number {
  let choices = 1;
  for (const all of [sireCandidates, damCandidates])
    for (let i = 0; i < order.length; i++) choices *= Math.max(1, (all?.start[i + 1] ?? 0) - (all?.start[i] ?? 0));
  return choices;
}

it('gives bounds where there are too many choices, and nothing where there are too many ancestors as well', () => {
  const deep = (generations: number) => {
    // Each animal of a generation has two candidates of the one before for its sire.
    const size = 4 * generations;
    const [sire, dam] = [Array<number>(size).fill(U), Array<number>(size).fill(U)];
    const lists: Record<number, Candidate[]> = {};
    for (let i = 4; i < size; i++) {
      const before = i - (i % 4) - 4;
      lists[i] = even(before, before + 1);
      dam[i] = before + 2 + (i % 2);
    }
    return { pedigree: pedigreeOf(sire, dam, lists), size };
  };
  const bounded = deep(12);
  const range = rangeOf(bounded.pedigree, bounded.size - 1, bounded.size - 2);
  expect(range).toMatchObject({ exact: false });
  const expected = kinship(bounded.pedigree, inbreeding(bounded.pedigree), bounded.size - 1, bounded.size - 2);
  expect(range?.low).toBeLessThan(expected);
  expect(range?.high).toBeGreaterThan(expected);
  const large = deep(600);
  expect(rangeOf(large.pedigree, large.size - 1, large.size - 2)).toBeNull();
});
