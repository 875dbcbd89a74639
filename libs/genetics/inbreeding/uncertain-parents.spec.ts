import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import {
  effectiveAncestors,
  founderContributions,
  inbreeding,
  kinship,
  kinshipMatrix,
  kinshipWithAll,
  meanKinship,
  mendelianSamplings,
  packCandidates,
  pairKinship,
  sortPedigree,
  type Candidate,
} from '../index.js';
import { moved, pedigreeOf, tabularKinship, uncertainWorld } from '../pedigree/pedigree-worlds.js';

const uncertain = fc.array(fc.nat(), { minLength: 1, maxLength: 30 }).map(uncertainWorld);

const half = (a: number, b: number): Candidate[] => [
  { parent: a, probability: 0.5 },
  { parent: b, probability: 0.5 },
];

function expectClose(actual: ArrayLike<number>, expected: ArrayLike<number>): void {
  expect(actual.length).toBe(expected.length);
  for (let i = 0; i < expected.length; i++) expect(actual[i]).toBeCloseTo(expected[i] ?? NaN, 12);
}

describe('an animal with two equally likely sires', () => {
  // 0 and 1 are the sires, 2 the dam; 3 is of either, 4 of sire 0 for certain; 5 is the young of 3 and 4.
  const family = pedigreeOf({
    sire: [-1, -1, -1, -1, 0, 3],
    dam: [-1, -1, -1, 2, 2, 4],
    sires: new Map([[3, half(0, 1)]]),
    dams: new Map(),
  });
  const f = inbreeding(family);

  it('is a full sibling of a young of one of them half of the time: kinship 3/16, between 1/8 and 1/4', () => {
    expect(kinship(family, f, 3, 4)).toBe(0.1875);
    expect([...f]).toEqual([0, 0, 0, 0, 0, 0.1875]);
  });

  it('is related to each of them by half', () => {
    expect([...kinshipWithAll(family, f, 3)].slice(0, 4)).toEqual([0.125, 0.125, 0.25, 0.5]);
  });

  it('leaves more to chance: D = 1 − ¼(½ + 1) = 5/8 in place of ½', () => {
    expect(mendelianSamplings(family, f)[3]).toBe(0.625);
    expect(mendelianSamplings(family, f)[4]).toBe(0.5);
  });

  it('carries their genes by halves', () => {
    const group = Uint8Array.of(0, 0, 0, 1, 0, 0);
    expect([...founderContributions(family, group).founder]).toEqual([0.25, 0.25, 0.5, 0, 0, 0]);
  });

  it('is refused where no definition covers it', () => {
    expect(() => effectiveAncestors(family, Uint8Array.of(0, 0, 0, 1, 0, 0))).toThrow(
      'effective ancestors are defined for certain parents only: leave candidates out',
    );
  });
});

describe('candidates on both sides', () => {
  it('may be the same animals: the sides are drawn independently, so that selfing is one of the cases', () => {
    // 2 is of 0 or 1 on either side: F = ¼·(½ + 0 + 0 + ½).
    const both = new Map([[2, half(0, 1)]]);
    const pair = pedigreeOf({ sire: [-1, -1, -1], dam: [-1, -1, -1], sires: both, dams: both });
    expect(inbreeding(pair)[2]).toBe(0.25);
  });
});

describe('any pedigree with uncertain parents', () => {
  it('has the inbreeding, kinships and mean kinships of the tabular method with averaged rows', () => {
    fc.assert(
      fc.property(uncertain, (world) => {
        const pedigree = pedigreeOf(world);
        const matrix = tabularKinship(pedigree);
        const f = inbreeding(pedigree);
        expectClose(
          f,
          matrix.map((row, i) => 2 * (row[i] ?? 0) - 1),
        );
        expect(f.every((value) => value >= 0 && value < 1)).toBe(true);
        const sampling = mendelianSamplings(pedigree, f);
        expect(sampling.every((d) => d >= 0 && d <= 1)).toBe(true);
        matrix.forEach((row, i) => expectClose(kinshipWithAll(pedigree, f, i, sampling), row));
        const all = [...matrix.keys()];
        expectClose(kinshipMatrix(pedigree, f, all), matrix.flat());
        for (const given of [undefined, sampling]) {
          const ofPair = pairKinship(pedigree, f, given);
          const pairs = all.flatMap((i) => all.map((j) => ofPair(i, j)));
          expectClose(pairs, matrix.flat());
        }
        const members = [...world.group.keys()].filter((i) => world.group[i] === 1);
        const mean = matrix.map((row) => members.reduce((sum, j) => sum + (row[j] ?? 0), 0) / members.length);
        expectClose(meanKinship(pedigree, f, world.group), mean);
      }),
    );
  });

  it('has contributions that sum to 1', () => {
    fc.assert(
      fc.property(uncertain, (world) => {
        const { founder, unknownSire, unknownDam } = founderContributions(pedigreeOf(world), world.group);
        const total = [...founder, ...unknownSire, ...unknownDam].reduce((sum, p) => sum + p, 0);
        expect(total).toBeCloseTo(1, 12);
      }),
    );
  });

  it('gives the same figures in whatever order the animals stand', () => {
    const shuffled = uncertain.chain((world) =>
      fc.tuple(fc.constant(world), fc.shuffledSubarray([...world.sire.keys()], { minLength: world.sire.length })),
    );
    fc.assert(
      fc.property(shuffled, ([world, place]) => {
        const [before, after] = [pedigreeOf(world), pedigreeOf(moved(world, place))];
        const fAfter = inbreeding(after);
        expectClose(
          place.map((at) => fAfter[at] ?? NaN),
          inbreeding(before),
        );
      }),
    );
  });

  it('is that of certain parents where each list names one animal with probability 1', () => {
    fc.assert(
      fc.property(uncertain, (world) => {
        const certain = (lists: typeof world.sires, parents: readonly number[]) =>
          parents.map((parent, i) => lists.get(i)?.[0]?.parent ?? parent);
        const sire = certain(world.sires, world.sire);
        const dam = certain(world.dams, world.dam);
        const single = (parents: readonly number[]) =>
          packCandidates(
            parents.length,
            new Map(parents.flatMap((parent, i) => (parent < 0 ? [] : [[i, [{ parent, probability: 1 }]] as const]))),
          );
        const nobody = Int32Array.from(sire, () => -1);
        const listed = sortPedigree(nobody, nobody, single(sire), single(dam));
        const plain = sortPedigree(Int32Array.from(sire), Int32Array.from(dam));
        expect(listed).toEqual(plain);
        if (listed.kind === 'sorted' && plain.kind === 'sorted')
          expect(inbreeding(listed.pedigree)).toEqual(inbreeding(plain.pedigree));
      }),
    );
  });
});

describe('large uncertain pedigrees', () => {
  it('a line of 2,000 generations, each sire one of two brothers, is answered without recursion', () => {
    // Generation t: brothers 3t and 3t + 1 and a sister 3t + 2, of either brother and the sister before.
    const generations = 2_000;
    const n = 3 * generations;
    const nobody = new Int32Array(n).fill(-1);
    const dam = Int32Array.from({ length: n }, (_, i) => (i < 3 ? -1 : 3 * Math.floor(i / 3) - 1));
    const lists = new Map<number, Candidate[]>();
    for (let i = 3; i < n; i++) lists.set(i, half(3 * Math.floor(i / 3) - 3, 3 * Math.floor(i / 3) - 2));
    const sorted = sortPedigree(nobody, dam, packCandidates(n, lists));
    if (sorted.kind === 'cyclic') throw new Error('cyclic');
    const f = inbreeding(sorted.pedigree);
    // The tabular recurrence over (f of two of a generation, F): both by the average of the same parents.
    let [between, own] = [0, 0];
    for (let t = 1; t < 40; t++) {
      const self = 0.5 * (1 + own);
      const sires = 0.5 * self + 0.5 * between; // mean kinship of a drawn sire with a drawn sire
      [between, own] = [0.25 * (sires + self + 2 * between), between];
      expect(f[3 * t]).toBeCloseTo(own, 12);
    }
    expect(f[n - 1]).toBeCloseTo(1, 6);
  });
});
