import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { dropGenes, geneDiversity, geneDrop, groupMean, inbreeding, meanKinship, seededRandom } from '../index.js';
import { pedigreeOf, pedigreeOfPairs, tabularKinship, uncertainWorld } from '../pedigree/pedigree-worlds.js';

const uncertain = fc.array(fc.nat(), { minLength: 1, maxLength: 30 }).map(uncertainWorld);

const founder = [-1, -1] as const;
const DROPS = 20_000;

/** How many standard errors a mean is from its expectation; rounding alone is none. */
const errorsOff = (mean: number, standardError: number, expected: number): number =>
  Math.abs(mean - expected) < 1e-12 ? 0 : Math.abs(mean - expected) / standardError;

describe('geneDrop', () => {
  it('keeps 1 − (1/2)^k of a founder with k independent young (closed form)', () => {
    for (const k of [1, 2, 3, 6]) {
      const mates = Array.from({ length: k }, () => founder);
      const young = mates.map((_, i) => [0, i + 1] as const);
      const family = pedigreeOfPairs([founder, ...mates, ...young]);
      const group = Uint8Array.from({ length: 2 * k + 1 }, (_, i) => (i > k ? 1 : 0));
      const { retention } = geneDrop(family, group, DROPS, seededRandom(k));
      expect(errorsOff(retention.mean[0] ?? NaN, retention.standardError[0] ?? NaN, 1 - 0.5 ** k)).toBeLessThan(4);
      expect(retention.mean[1]).toBe(0.5); // one young: one of two genes, whichever
      expect(retention.mean[k + 1]).toBe(0);
    }
  });

  it('keeps half of an unknown parent at most, at the place of its young', () => {
    // 1 has the known sire 0; its young 2 and 3 pass on the gene of the unknown dam each with ½: ½·(1 − ¼).
    const family = pedigreeOfPairs([founder, [0, -1], [1, 0], [1, 0]]);
    const { retention, distinctGenes } = geneDrop(family, Uint8Array.of(0, 0, 1, 1), DROPS, seededRandom(5));
    expect(errorsOff(retention.mean[1] ?? NaN, retention.standardError[1] ?? NaN, 0.375)).toBeLessThan(4);
    expect(distinctGenes.mean).toBeGreaterThan(1);
    expect(distinctGenes.mean).toBeLessThanOrEqual(3);
  });

  it('has the expected gene diversity and inbreeding within its error, on any pedigree, uncertain parents included', () => {
    fc.assert(
      fc.property(uncertain, fc.integer(), (world, seed) => {
        const pedigree = pedigreeOf(world);
        const f = inbreeding(pedigree);
        const dropped = geneDrop(pedigree, world.group, 2_000, seededRandom(seed));
        const exact = geneDiversity(groupMean(meanKinship(pedigree, f, world.group), world.group));
        const { mean, standardError } = dropped.geneDiversity;
        // 5 errors, not 4: hundreds of figures are looked at in one run.
        expect(errorsOff(mean, Math.max(standardError, 1e-3), exact)).toBeLessThan(5);
        f.forEach((value, i) => {
          const error = Math.max(dropped.inbreeding.standardError[i] ?? NaN, Math.sqrt((value * (1 - value)) / 2_000));
          expect(errorsOff(dropped.inbreeding.mean[i] ?? NaN, error, value)).toBeLessThan(6);
        });
      }),
      { numRuns: 30 },
    );
  });

  it('agrees with the kinship of every pair where parents are drawn by probability', () => {
    const sires = new Map([
      [
        4,
        [
          { parent: 0, probability: 0.7 },
          { parent: 1, probability: 0.3 },
        ],
      ],
      [
        5,
        [
          { parent: 0, probability: 0.5 },
          { parent: 1, probability: 0.3 },
          { parent: 4, probability: 0.2 },
        ],
      ],
      [
        7,
        [
          { parent: 4, probability: 0.25 },
          { parent: 6, probability: 0.75 },
        ],
      ],
    ]);
    const dams = new Map([
      [
        7,
        [
          { parent: 3, probability: 0.5 },
          { parent: 5, probability: 0.5 },
        ],
      ],
    ]);
    const pedigree = pedigreeOf({
      sire: [-1, -1, -1, -1, -1, -1, 0, -1],
      dam: [-1, -1, -1, -1, 2, 3, 5, -1],
      sires,
      dams,
    });
    const exact = tabularKinship(pedigree);
    const n = exact.length;
    const same = exact.map(() => new Array<number>(n).fill(0));
    const genes = new Int32Array(2 * n);
    const random = seededRandom(11);
    for (let drop = 0; drop < DROPS; drop++) {
      dropGenes(pedigree, random, genes);
      for (let i = 0; i < n; i++)
        for (let j = 0; j < n; j++) {
          const a = genes[2 * i + (random() < 0.5 ? 0 : 1)];
          const b = genes[2 * j + (random() < 0.5 ? 0 : 1)];
          if (a === b) (same[i] as number[])[j] = (same[i]?.[j] ?? 0) + 1;
        }
    }
    exact.forEach((row, i) =>
      row.forEach((f, j) => {
        const share = (same[i]?.[j] ?? 0) / DROPS;
        expect([i, j, errorsOff(share, Math.sqrt((f * (1 - f)) / DROPS), f) < 4]).toEqual([i, j, true]);
      }),
    );
  });

  it('gives the same answer for the same seed, another for another', () => {
    const family = pedigreeOfPairs([founder, founder, [0, 1], [0, 1], [2, 3]]);
    const group = Uint8Array.of(0, 0, 0, 1, 1);
    const drop = (seed: number) => geneDrop(family, group, 50, seededRandom(seed)).geneDiversity.mean;
    expect(drop(3)).toBe(drop(3));
    expect(new Set([1, 2, 3, 4, 5].map(drop)).size).toBeGreaterThan(1);
  });

  it('refuses nobody and fewer than two drops', () => {
    const one = pedigreeOfPairs([founder]);
    expect(() => geneDrop(one, new Uint8Array(1), 9, seededRandom(1))).toThrow('the reference group has no members');
    expect(() => geneDrop(one, Uint8Array.of(1), 1, seededRandom(1))).toThrow('1 gene drops: at least 2 are needed');
  });
});

describe('seededRandom', () => {
  it('is uniform in [0, 1)', () => {
    const random = seededRandom(42);
    const bins = new Array<number>(10).fill(0);
    for (let k = 0; k < 100_000; k++) {
      const bin = Math.floor(10 * random());
      bins[bin] = (bins[bin] ?? NaN) + 1;
    }
    const chiSquare = bins.reduce((sum, seen) => sum + (seen - 10_000) ** 2 / 10_000, 0);
    expect(chiSquare).toBeLessThan(27.9); // 9 degrees of freedom, 1 in 1,000
  });
});
