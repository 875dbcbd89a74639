import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import {
  inbreeding,
  inbreedingPart,
  kinshipBlock,
  kinshipMatrix,
  kinshipWithAll,
  pairKinship,
  seededRandom,
  shareInbreeding,
  sortPedigree,
  type Pedigree,
} from '../index.js';
import { inbreedingByTable, timesInUse } from './inbreeding-by-table.js';
import { inbreedingInBlocks } from './inbreeding-in-blocks.js';
import { groupOffspring, numberParents } from './parent-pedigree.js';
import {
  certainWorld,
  moved,
  pedigreeOf,
  pedigreeOfPairs,
  tabularKinship,
  uncertainWorld,
} from '../pedigree/pedigree-worlds.js';

function byTable(pedigree: Pedigree): Float64Array {
  const f = new Float64Array(pedigree.order.length);
  const parents = numberParents(pedigree);
  inbreedingByTable(pedigree, parents, timesInUse(pedigree, parents), f);
  return f;
}

function inBlocks(pedigree: Pedigree): Float64Array {
  const f = new Float64Array(pedigree.order.length);
  const parents = numberParents(pedigree);
  inbreedingInBlocks(parents, groupOffspring(pedigree, parents, 'fewer'), f);
  return f;
}

function expectClose(actual: ArrayLike<number>, expected: ArrayLike<number>): void {
  expect(actual.length).toBe(expected.length);
  let most = 0;
  for (let i = 0; i < expected.length; i++) most = Math.max(most, Math.abs((actual[i] ?? NaN) - (expected[i] ?? NaN)));
  expect(most).toBeLessThan(1e-13);
}

const certain = fc.array(fc.nat(), { minLength: 1, maxLength: 60 }).map(certainWorld);
const uncertain = fc.array(fc.nat(), { minLength: 1, maxLength: 30 }).map(uncertainWorld);

/** Discrete generations of `width` animals with parents drawn at random from the one before, a tenth of them half-known. */
function generations(width: number, depth: number, seed: number): Pedigree {
  const random = seededRandom(seed);
  const n = width * depth;
  const draw = (i: number, half: number): number => {
    if (i < width || random() < 0.05) return -1;
    return (Math.floor(i / width) - 1) * width + half * (width >> 1) + Math.floor(random() * (width >> 1));
  };
  const sorted = sortPedigree(
    Int32Array.from({ length: n }, (_, i) => draw(i, 0)),
    Int32Array.from({ length: n }, (_, i) => draw(i, 1)),
  );
  if (sorted.kind === 'cyclic') throw new Error('cyclic');
  return sorted.pedigree;
}

/** Both ways to compute F against the tabular method over the whole matrix (Emik & Terrill 1949), which is plain to check. */
describe('F by a sliding table and by relationship products', () => {
  it('is that of the tabular method, exactly 0 where it is 0, in any order of the animals', () => {
    const shuffled = certain.chain((world) =>
      fc.tuple(fc.constant(world), fc.shuffledSubarray([...world.sire.keys()], { minLength: world.sire.length })),
    );
    fc.assert(
      fc.property(shuffled, ([world, place]) => {
        const pedigree = pedigreeOf(world);
        const expected = tabularKinship(pedigree).map((row, i) => 2 * (row[i] ?? NaN) - 1);
        const other = pedigreeOf(moved(world, place));
        for (const method of [byTable, inBlocks, inbreeding]) {
          const f = method(pedigree);
          expectClose(f, expected);
          expect([...f].map((value) => value === 0)).toEqual(expected.map((value) => value === 0));
          const again = method(other);
          expectClose(
            place.map((at) => again[at] ?? NaN),
            expected,
          );
        }
      }),
    );
  });

  it('agrees where ancestors overlap: 60 generations of 40, 12 generations of 600', () => {
    for (const pedigree of [generations(40, 60, 1), generations(600, 12, 2)]) {
      const f = byTable(pedigree);
      expect(f.some((value) => value > 0)).toBe(true);
      expectClose(inBlocks(pedigree), f);
      expectClose(inbreeding(pedigree), f);
    }
  });

  it('comes out the same of several parts that take blocks in turn and wait for one another each generation', () => {
    const pedigree = generations(1_400, 9, 4);
    const work = shareInbreeding(pedigree);
    if (!work) throw new Error('too narrow to share');
    const parts = [inbreedingPart(work), inbreedingPart(work), inbreedingPart(work)];
    while (parts.map((part) => part.next().done).includes(false));
    expect(work.f).toEqual(inBlocks(pedigree));
    expect(work.f.some((value) => value > 0)).toBe(true);
  });

  it('is not shared where the sliding table serves, or parents have candidates', () => {
    expect(shareInbreeding(generations(40, 60, 1))).toBeNull();
    const candidates = {
      start: Int32Array.of(0, 0, 0, 2),
      parent: Int32Array.of(0, 1),
      probability: Float64Array.of(0.5, 0.5),
    };
    const unknown = new Int32Array(3).fill(-1);
    const sorted = sortPedigree(unknown, unknown, candidates);
    if (sorted.kind === 'cyclic') throw new Error('cyclic');
    expect(shareInbreeding(sorted.pedigree)).toBeNull();
  });

  it('holds only parents in use: two at a time in a line of full siblings, whatever its length', () => {
    const line = pedigreeOfPairs(
      Array.from({ length: 200 }, (_, i) => (i < 2 ? [-1, -1] : [i - 2 - (i % 2), i - 1 - (i % 2)])),
    );
    expect(timesInUse(line, numberParents(line)).most).toBeLessThanOrEqual(4);
    expectClose(inBlocks(line), byTable(line));
  });

  it('stands 300,000 generations of full siblings without a product over them all', () => {
    const n = 600_000;
    const sire = Int32Array.from({ length: n }, (_, i) => (i < 2 ? -1 : i - 2 - (i % 2)));
    const dam = Int32Array.from({ length: n }, (_, i) => (i < 2 ? -1 : i - 1 - (i % 2)));
    const sorted = sortPedigree(sire, dam);
    if (sorted.kind === 'cyclic') throw new Error('cyclic');
    const f = inbreeding(sorted.pedigree);
    expect([f[4], f[6], f[8]]).toEqual([0.25, 0.375, 0.5]); // Wright 1921: F = ¼, ⅜, ½ …
    expect(f[n - 1]).toBeCloseTo(1, 12);
  });

  it('serves one sire with 20,000 mates, and their young, at the cost of a few products', () => {
    const mates = 20_000;
    const parents: [number, number][] = [[-1, -1]];
    for (let i = 1; i <= mates; i++) parents.push(i === 1 ? [-1, -1] : [0, i - 1]); // each dam a daughter of the one before
    for (let i = 1; i <= mates; i++) parents.push([0, i]);
    const f = inbreeding(pedigreeOfPairs(parents));
    expect([f[2], f[3], f[4]]).toEqual([0, 0.25, 0.375]); // backcrossing to one sire: F = (1 − 2^−(t−1))/2
    expect(f[2 * mates]).toBeCloseTo(0.5, 12);
  });
});

describe('kinships of pairs and of blocks', () => {
  it('are those of the tabular method, with certain parents and with candidates', () => {
    fc.assert(
      fc.property(fc.oneof(certain, uncertain), fc.array(fc.nat(), { maxLength: 9 }), (world, draws) => {
        const pedigree = pedigreeOf(world);
        const n = world.sire.length;
        const matrix = tabularKinship(pedigree);
        const f = inbreeding(pedigree);
        const pair = pairKinship(pedigree, f);
        const columns = draws.map((draw) => draw % n); // empty, repeated, in any order
        const rows = [...matrix.keys()].filter((i) => i % 3 !== 1);
        const expected = rows.flatMap((i) => columns.map((j) => matrix[i]?.[j] ?? NaN));
        expectClose(kinshipBlock(pedigree, f, rows, columns), expected);
        expectClose(
          rows.flatMap((i) => columns.map((j) => pair(i, j))),
          expected,
        );
        expectClose(
          kinshipMatrix(pedigree, f, rows),
          rows.flatMap((i) => rows.map((j) => matrix[i]?.[j] ?? NaN)),
        );
      }),
    );
  });

  it('give the inbreeding of an animal that is born, as the whole computation does', () => {
    const all = generations(200, 15, 3);
    const f = inbreeding(all);
    const n = all.sire.length - 200;
    const before = sortPedigree(all.sire.slice(0, n), all.dam.slice(0, n));
    if (before.kind === 'cyclic') throw new Error('cyclic');
    const known = f.slice(0, n);
    const pair = pairKinship(before.pedigree, known);
    const bred = [...f.keys()].filter((i) => i >= n && (all.sire[i] ?? -1) >= 0 && (all.dam[i] ?? -1) >= 0);
    expect(bred.length).toBeGreaterThan(100);
    expectClose(
      bred.map((i) => pair(all.sire[i] ?? -1, all.dam[i] ?? -1)),
      bred.map((i) => f[i] ?? NaN),
    );
    const row = kinshipWithAll(before.pedigree, known, n - 1);
    expectClose(
      Array.from({ length: n }, (_, j) => pair(n - 1, j)),
      row,
    );
  });
});
