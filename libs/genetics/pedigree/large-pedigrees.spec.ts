import { describe, expect, it } from '@jest/globals';
import {
  ancestralInbreeding,
  effectiveSize,
  founderContributions,
  generationEquivalents,
  geneDrop,
  inbreeding,
  kinshipTies,
  kinshipWithAll,
  knownAncestry,
  longestPaths,
  meanKinship,
  mendelianSamplings,
  packCandidates,
  partialInbreeding,
  relationshipWords,
  seededRandom,
  sortPedigree,
  type Candidate,
  type Pedigree,
} from '../index.js';
import { pedigreeOfPairs } from './pedigree-worlds.js';

/** Shapes that break recursion, quadratic memory or an unbounded search: an answer all the same. */
function sorted(sire: Int32Array, dam: Int32Array, sires?: ReadonlyMap<number, readonly Candidate[]>): Pedigree {
  const result = sortPedigree(sire, dam, sires && packCandidates(sire.length, sires));
  if (result.kind === 'cyclic') throw new Error('cyclic');
  return result.pedigree;
}

describe('a million animals without parents', () => {
  const n = 1_000_000;
  const unknown = new Int32Array(n).fill(-1);
  const pedigree = sorted(unknown, unknown);
  const all = new Uint8Array(n).fill(1);
  const f = inbreeding(pedigree);

  it('are unrelated founders in every figure', () => {
    expect(f.some(Boolean)).toBe(false);
    expect(meanKinship(pedigree, f, all)[n - 1]).toBe(0.5 / n);
    expect(kinshipWithAll(pedigree, f, 7)[7]).toBe(0.5);
    expect(founderContributions(pedigree, all).founder[123]).toBe(1 / n);
    expect(knownAncestry(pedigree, new Uint8Array(n)).some(Boolean)).toBe(false);
    expect(generationEquivalents(pedigree).some(Boolean)).toBe(false);
    expect(longestPaths(pedigree).some(Boolean)).toBe(false);
    expect(ancestralInbreeding(pedigree, f).some(Boolean)).toBe(false);
    expect(partialInbreeding(pedigree, { founder: 5 }).some(Boolean)).toBe(false);
    expect(effectiveSize(f, generationEquivalents(pedigree), all)).toBeNull();
    expect(kinshipTies(pedigree, f, 0, n - 1).ties).toEqual([]);
  });

  it('keep all their genes', () => {
    const { retention, distinctGenes } = geneDrop(pedigree, all, 2, seededRandom(1));
    expect([retention.mean[999], distinctGenes.mean]).toEqual([1, 2 * n]);
  });
});

describe('a line selfed for 10,000 generations', () => {
  const line = pedigreeOfPairs(Array.from({ length: 10_000 }, (_, i) => [i - 1, i - 1] as const));
  const f = inbreeding(line);

  it('has the closed forms', () => {
    expect(generationEquivalents(line)[9_999]).toBe(9_999);
    expect(partialInbreeding(line, { founder: 0 })[9_999]).toBe(1);
    expect([...ancestralInbreeding(line, f).subarray(0, 4)]).toEqual([0, 0, 0.5, 1 - 0.5 * 0.25]);
    expect(geneDrop(line, new Uint8Array(10_000).fill(1), 50, seededRandom(2)).inbreeding.mean[9_999]).toBe(1);
  });

  it('is related in words, end to end', () => {
    const near = kinshipTies(line, f, 9_998, 9_999);
    expect(relationshipWords(near).phrase).toMatch(/^parent and offspring/);
    const far = kinshipTies(line, f, 0, 9_999);
    expect(far.kinship).toBeCloseTo(0.5, 9);
  });
});

describe('10,000 generations of uncertain sires', () => {
  // Each sire is one of the two animals before last; dams are the animal just before.
  const n = 10_000;
  const dam = Int32Array.from({ length: n }, (_, i) => i - 1);
  const lists = new Map<number, readonly Candidate[]>();
  for (let i = 3; i < n; i++)
    lists.set(i, [
      { parent: i - 2, probability: 0.5 },
      { parent: i - 3, probability: 0.5 },
    ]);
  const pedigree = sorted(new Int32Array(n).fill(-1), dam, lists);
  const f = inbreeding(pedigree);

  it('end in full inbreeding, the same by either way to compute it', () => {
    expect(f[n - 1]).toBeCloseTo(1, 6);
    const sampling = mendelianSamplings(pedigree, f);
    const row = kinshipWithAll(pedigree, f, 500, sampling);
    expect(2 * (row[500] ?? NaN) - 1).toBeCloseTo(f[500] ?? NaN, 9);
    expect(sampling.every((d) => d >= 0)).toBe(true);
  });

  it('drop genes and tell ties within bounds', () => {
    expect(geneDrop(pedigree, new Uint8Array(n).fill(1), 10, seededRandom(3)).inbreeding.mean[n - 1]).toBe(1);
    const ties = kinshipTies(pedigree, f, n - 2, n - 1);
    const told = ties.ties.reduce((sum, tie) => sum + tie.contribution, 0);
    expect(told + ties.rest).toBeCloseTo(ties.kinship, 9);
  });
});

describe('100,000 full siblings of one of two sires', () => {
  it('share one candidate list and one computation', () => {
    const n = 100_005;
    const half = [
      { parent: 0, probability: 0.5 },
      { parent: 1, probability: 0.5 },
    ];
    const dam = Int32Array.from({ length: n }, (_, i) => (i < 3 ? -1 : i < n - 2 ? 2 : i - 2));
    const lists = new Map<number, readonly Candidate[]>();
    for (let i = 3; i < n; i++) lists.set(i, half);
    const pedigree = sorted(new Int32Array(n).fill(-1), dam, lists);
    const started = performance.now();
    const f = inbreeding(pedigree);
    expect(performance.now() - started).toBeLessThan(5_000);
    expect(f[50_000]).toBe(0);
    expect(f[n - 1]).toBe(0.125); // of a dam that is theirs with chance ½ each: ½·¼ + ½·¼ by either sire
  });
});
