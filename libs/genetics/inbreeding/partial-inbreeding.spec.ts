import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { founderShares, inbreeding, partialInbreeding, type FounderSource, type Pedigree } from '../index.js';
import {
  certainWorld,
  pedigreeOf,
  pedigreeOfPairs,
  tabularKinship,
  uncertainWorld,
} from '../pedigree/pedigree-worlds.js';

const certain = fc.array(fc.nat(), { minLength: 1, maxLength: 40 }).map(certainWorld);
const uncertain = fc.array(fc.nat(), { minLength: 1, maxLength: 30 }).map(uncertainWorld);

const founder = [-1, -1] as const;

/** All sources of genes of a pedigree. */
function sourcesOf({ sire, dam, sireCandidates, damCandidates, order }: Pedigree): FounderSource[] {
  const has = (i: number, certain: Int32Array, lists: typeof sireCandidates): boolean =>
    (certain[i] ?? -1) >= 0 || (lists !== undefined && lists.start[i] !== lists.start[i + 1]);
  return [...order].flatMap((i): FounderSource[] => {
    const [s, d] = [has(i, sire, sireCandidates), has(i, dam, damCandidates)];
    if (!s && !d) return [{ founder: i }];
    return s && d ? [] : [{ unknownParentOf: i }];
  });
}

describe('partial inbreeding', () => {
  it('of the young of full siblings is half by each grandparent', () => {
    const line = pedigreeOfPairs([founder, founder, [0, 1], [0, 1], [2, 3]]);
    expect([...partialInbreeding(line, { founder: 0 })]).toEqual([0, 0, 0, 0, 0.125]);
    expect([...partialInbreeding(line, { founder: 1 })]).toEqual([0, 0, 0, 0, 0.125]);
  });

  it('of the young of half siblings is all by the shared parent', () => {
    const line = pedigreeOfPairs([founder, founder, founder, [0, 1], [0, 2], [3, 4]]);
    expect([0, 1, 2].map((a) => partialInbreeding(line, { founder: a })[5])).toEqual([0.125, 0, 0]);
  });

  it('by an unknown parent is told at its young', () => {
    // 1 has the unknown dam; its young by selfing holds ½·½ of the gene of each parent twice: ¼ each by sire and dam.
    const line = pedigreeOfPairs([founder, [0, -1], [1, 1]]);
    expect(partialInbreeding(line, { founder: 0 })[2]).toBe(0.25);
    expect(partialInbreeding(line, { unknownParentOf: 1 })[2]).toBe(0.25);
  });

  it('sums to F over all founders, and so do the shares to 1, on any pedigree', () => {
    for (const world of [certain, uncertain])
      fc.assert(
        fc.property(world, (drawn) => {
          const pedigree = pedigreeOf(drawn);
          const sources = sourcesOf(pedigree);
          const total = new Float64Array(pedigree.order.length);
          const shares = new Float64Array(pedigree.order.length);
          for (const source of sources) {
            partialInbreeding(pedigree, source).forEach((value, i) => {
              expect(value).toBeGreaterThanOrEqual(-1e-15);
              total[i] = (total[i] ?? 0) + value;
            });
            founderShares(pedigree, source).forEach((value, i) => (shares[i] = (shares[i] ?? 0) + value));
          }
          inbreeding(pedigree).forEach((f, i) => {
            expect(total[i]).toBeCloseTo(f, 12);
            expect(shares[i]).toBeCloseTo(1, 12);
          });
        }),
        { numRuns: 40 },
      );
  });

  it('is that of the tabular method restricted to the genes of one founder', () => {
    fc.assert(
      fc.property(uncertain, (world) => {
        const pedigree = pedigreeOf(world);
        const first = pedigree.order[0] ?? 0; // the first in order has no parents
        const table = tabularKinship(pedigree, first);
        const share = founderShares(pedigree, { founder: first });
        partialInbreeding(pedigree, { founder: first }).forEach((value, i) =>
          expect(value).toBeCloseTo(2 * (table[i]?.[i] ?? NaN) - (share[i] ?? NaN), 12),
        );
      }),
    );
  });

  it('refuses what is no founder', () => {
    const line = pedigreeOfPairs([founder, [0, -1]]);
    expect(() => partialInbreeding(line, { founder: 1 })).toThrow('animal 1 has a recorded parent and is no founder');
    expect(() => partialInbreeding(line, { unknownParentOf: 0 })).toThrow('animal 0 is not half known');
    expect(() => partialInbreeding(line, { founder: 7 })).toThrow('there is no animal 7 in a pedigree of 2');
  });
});
