import { describe, expect, it } from '@jest/globals';
import { inbreeding, knownAncestry, sortPedigree, type Pedigree } from '../index.js';

function pedigree(parents: readonly (readonly [sire: number, dam: number])[]): Pedigree {
  const sorted = sortPedigree(
    Int32Array.from(parents, ([sire]) => sire),
    Int32Array.from(parents, ([, dam]) => dam),
  );
  if (sorted.kind === 'cyclic') throw new Error('cyclic');
  return sorted.pedigree;
}

const founder = [-1, -1] as const;

/** Values: Wright 1922, path formula; closed forms in Falconer & Mackay, Introduction to Quantitative Genetics. */
describe('inbreeding', () => {
  it('of the young of half siblings is 1/8', () => {
    expect([...inbreeding(pedigree([founder, founder, founder, [0, 1], [0, 2], [3, 4]]))]).toEqual([
      0, 0, 0, 0, 0, 0.125,
    ]);
  });

  it('of the young of full siblings and of parent and offspring is 1/4', () => {
    expect([...inbreeding(pedigree([founder, founder, [0, 1], [0, 1], [2, 3], [0, 3]]))]).toEqual([
      0, 0, 0, 0, 0.25, 0.25,
    ]);
  });

  it('counts the inbreeding of the common ancestor', () => {
    // 4 is inbred (1/4) and sire of both parents of 9, half siblings by him: 1/8 · (1 + 1/4).
    const parents = [founder, founder, [0, 1], [0, 1], [2, 3], founder, founder, [4, 5], [4, 6], [7, 8]] as const;
    expect(inbreeding(pedigree(parents))[9]).toBe(0.15625);
  });

  it('of selfed young is (1 + F)/2 of the parent, beside other mates of the same parent', () => {
    const parents = [founder, [0, 0], [1, 1], [0, 1], [1, 0]] as const;
    expect([...inbreeding(pedigree(parents))]).toEqual([0, 0.5, 0.75, 0.5, 0.5]);
  });

  it('with an unknown parent is 0, and the known-ancestry share says so', () => {
    const half = pedigree([founder, [0, -1], [0, 1]]);
    expect([...inbreeding(half)]).toEqual([0, 0, 0.25]);
    expect([...knownAncestry(half)]).toEqual([1, 0.5, 0.75]);
  });

  it('of nobody is nothing', () => {
    expect(inbreeding(pedigree([])).length).toBe(0);
  });

  it('stands 10,000 generations of full siblings, the limit being 1', () => {
    const parents = Array.from({ length: 20_000 }, (_, i) =>
      i < 2 ? founder : ([i - 2 - (i % 2), i - 1 - (i % 2)] as const),
    );
    const f = inbreeding(pedigree(parents));
    expect(f[4]).toBe(0.25);
    expect(f[40]).toBeCloseTo(0.983109474182, 11); // generation 20 by the recurrence F_t = (1 + 2F_{t-1} + F_{t-2})/4
    expect(f[19_999]).toBeCloseTo(1, 12);
  });

  it('stands a selfed line of 100,000 generations, 100,000 full siblings and 100,000 pairs of founders', () => {
    const selfed = inbreeding(pedigree(Array.from({ length: 100_000 }, (_, i) => [i - 1, i - 1] as const)));
    expect([selfed[1], selfed[2], selfed[99_999]]).toEqual([0.5, 0.75, 1]);
    const siblings = Array.from({ length: 100_000 }, () => [2, 3] as const);
    const f = inbreeding(pedigree([founder, founder, [0, 1], [0, 1], ...siblings]));
    expect(f.subarray(4).every((value) => value === 0.25)).toBe(true);
    const pairs = Array.from({ length: 100_000 }, (_, i) => [2 * i, 2 * i + 1] as const);
    expect(inbreeding(pedigree([...Array.from({ length: 200_000 }, () => founder), ...pairs])).some(Boolean)).toBe(
      false,
    );
  });
});
