import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import {
  effectiveAncestors,
  founderContributions,
  inbreeding,
  kinshipWithAll,
  knownAncestry,
  meanKinship,
  sortPedigree,
  type Pedigree,
} from './index.js';

interface Parents {
  readonly sire: number[];
  readonly dam: number[];
}

/** Any pedigree of up to 40 animals, selfing and half-known animals among them, with a flag for the reference group. */
const world = fc
  .array(fc.tuple(fc.integer({ min: -1, max: 999 }), fc.integer({ min: -1, max: 999 }), fc.boolean()), {
    minLength: 1,
    maxLength: 40,
  })
  .map((animals) => {
    const parent = (draw: number, i: number): number =>
      draw < 0 || i === 0 ? -1 : draw % (i + 1) === i ? -1 : draw % i;
    return {
      sire: animals.map(([draw], i) => parent(draw, i)),
      dam: animals.map(([, draw], i) => parent(draw, i)),
      group: Uint8Array.from(animals, ([, , member], i) => (member || i === animals.length - 1 ? 1 : 0)),
    };
  });

function sorted({ sire, dam }: Parents): Pedigree {
  const result = sortPedigree(Int32Array.from(sire), Int32Array.from(dam));
  if (result.kind === 'cyclic') throw new Error('cyclic');
  return result.pedigree;
}

/** The tabular method (Emik & Terrill 1949): the whole kinship matrix, parents first. Slow and plain. */
function kinshipMatrix({ sire, dam }: Parents): number[][] {
  const n = sire.length;
  const f = Array.from({ length: n }, () => new Array<number>(n).fill(0));
  const at = (i: number, j: number): number => (i < 0 || j < 0 ? 0 : (f[i]?.[j] ?? 0));
  for (let i = 0; i < n; i++) {
    const [s, d] = [sire[i] ?? -1, dam[i] ?? -1];
    for (let j = 0; j <= i; j++) {
      const value = i === j ? 0.5 * (1 + at(s, d)) : 0.5 * (at(s, j) + at(d, j));
      (f[i] as number[])[j] = value;
      (f[j] as number[])[i] = value;
    }
  }
  return f;
}

function expectClose(actual: ArrayLike<number>, expected: ArrayLike<number>): void {
  expect(actual.length).toBe(expected.length);
  for (let i = 0; i < expected.length; i++) expect(actual[i]).toBeCloseTo(expected[i] ?? NaN, 12);
}

describe('any pedigree', () => {
  it('has the inbreeding, kinships and mean kinships of the tabular method', () => {
    fc.assert(
      fc.property(world, ({ group, ...parents }) => {
        const matrix = kinshipMatrix(parents);
        const pedigree = sorted(parents);
        const f = inbreeding(pedigree);
        expectClose(
          f,
          matrix.map((row, i) => 2 * (row[i] ?? 0) - 1),
        );
        expect(f.every((value) => value >= 0 && value < 1)).toBe(true);
        const last = matrix.length - 1;
        expectClose(kinshipWithAll(pedigree, f, last), matrix[last] ?? []);
        const members = [...group.keys()].filter((i) => group[i] === 1);
        const mean = matrix.map((row) => members.reduce((sum, j) => sum + (row[j] ?? 0), 0) / members.length);
        expectClose(meanKinship(pedigree, f, group), mean);
      }),
    );
  });

  it('has contributions that sum to 1, and between one and all of its animals as effective ancestors', () => {
    fc.assert(
      fc.property(world, ({ group, ...parents }) => {
        const pedigree = sorted(parents);
        const contributions = founderContributions(pedigree, group);
        const all = [...contributions.founder, ...contributions.unknownSire, ...contributions.unknownDam];
        expect(all.reduce((sum, p) => sum + p, 0)).toBeCloseTo(1, 12);
        // Not "at most the founder equivalents": with the greedy choice of Boichard et al. that holds usually, not always.
        const ancestors = effectiveAncestors(pedigree, group);
        expect(ancestors).toBeGreaterThanOrEqual(1 - 1e-9);
        expect(ancestors).toBeLessThanOrEqual(parents.sire.length + all.filter((p) => p > 0).length + 1e-9);
        expect(knownAncestry(pedigree).every((share) => share >= 0 && share <= 1)).toBe(true);
      }),
    );
  });

  it('gives the same figures in whatever order the animals stand', () => {
    const shuffled = world.chain((given) =>
      fc.record({
        given: fc.constant(given),
        place: fc.shuffledSubarray([...given.sire.keys()], { minLength: given.sire.length }),
      }),
    );
    fc.assert(
      fc.property(shuffled, ({ given, place }) => {
        const moved = { sire: [] as number[], dam: [] as number[], group: new Uint8Array(given.group.length) };
        const to = (parent: number): number => (parent < 0 ? -1 : (place[parent] ?? -1));
        place.forEach((at, i) => {
          moved.sire[at] = to(given.sire[i] ?? -1);
          moved.dam[at] = to(given.dam[i] ?? -1);
          moved.group[at] = given.group[i] ?? 0;
        });
        const [before, after] = [sorted(given), sorted(moved)];
        const [fBefore, fAfter] = [inbreeding(before), inbreeding(after)];
        const mkAfter = meanKinship(after, fAfter, moved.group);
        expectClose(
          place.map((at) => fAfter[at] ?? NaN),
          fBefore,
        );
        expectClose(
          place.map((at) => mkAfter[at] ?? NaN),
          meanKinship(before, fBefore, given.group),
        );
      }),
    );
  });
});
