import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { inbreeding, kinshipMatrix, optimumContributions, seededRandom } from '../index.js';
import { pedigreeOfPairs } from '../pedigree/pedigree-worlds.js';

/** Kinship of animals whose genes come from common sources in random shares: positive semidefinite, often singular. */
function world(seed: number, n: number, sources: number): { kinship: Float64Array; sex: Int8Array } {
  const random = seededRandom(seed);
  const genes = Array.from({ length: n }, () => {
    const shares = Array.from({ length: sources }, () => random() ** 3);
    const sum = shares.reduce((a, b) => a + b, 0);
    return shares.map((share) => share / sum);
  });
  const kinship = new Float64Array(n * n);
  genes.forEach((a, i) =>
    genes.forEach(
      (b, j) => (kinship[i * n + j] = a.reduce((sum, share, s) => sum + (share * (b[s] as number)) / 2, 0)),
    ),
  );
  return { kinship, sex: Int8Array.from({ length: n }, (_, i) => i % 2) };
}

const quadratic = (kinship: Float64Array, c: ArrayLike<number>): number =>
  Array.from(c).reduce(
    (sum, a, i) => sum + Array.from(c).reduce((s, b, j) => s + a * b * (kinship[i * c.length + j] as number), 0),
    0,
  );

const unrelated = (n: number): Float64Array =>
  Float64Array.from({ length: n * n }, (_, at) => (at % (n + 1) === 0 ? 0.5 : 0));

const worlds = fc.tuple(fc.nat(100_000), fc.integer({ min: 2, max: 14 }), fc.integer({ min: 1, max: 12 }));

describe('optimum contributions', () => {
  it('meet the optimality conditions, with and without upper limits', () => {
    fc.assert(
      fc.property(worlds, fc.boolean(), ([seed, n, sources], limited) => {
        const { kinship, sex } = world(seed, n, sources);
        const bound = limited ? Math.min(0.5, 0.8 / Math.floor(n / 2)) : 0.5;
        const upper = new Float64Array(n).fill(bound);
        const { contributions: c, meanKinship, geneDiversity } = optimumContributions({ kinship, sex, upper });
        expect(meanKinship).toBeCloseTo(quadratic(kinship, c), 12);
        expect(geneDiversity).toBe(1 - meanKinship);
        const slope = [...c.keys()].map(
          (i) => 2 * c.reduce((sum, share, j) => sum + share * (kinship[i * n + j] as number), 0),
        );
        for (const side of [0, 1]) {
          const members = [...c.keys()].filter((i) => sex[i] === side);
          expect(members.reduce((sum, i) => sum + (c[i] as number), 0)).toBeCloseTo(0.5, 10);
          for (const i of members) {
            expect(c[i] as number).toBeGreaterThanOrEqual(0);
            expect(c[i] as number).toBeLessThanOrEqual(bound);
            // Nothing is won by moving a share from i to j.
            for (const j of members)
              if ((c[i] as number) > 0 && (c[j] as number) < bound)
                expect((slope[i] as number) - (slope[j] as number)).toBeLessThan(1e-9);
          }
        }
      }),
      { numRuns: 150 },
    );
  });

  it('are never worse than equal ones or than 1,000 others', () => {
    const { kinship, sex } = world(7, 12, 6);
    const { meanKinship } = optimumContributions({ kinship, sex });
    const random = seededRandom(11);
    for (let trial = 0; trial <= 1000; trial++) {
      const raw = Array.from(sex, () => (trial === 0 ? 1 : random() ** 4));
      const sums = [0, 1].map((side) => raw.reduce((sum, share, i) => sum + (sex[i] === side ? share : 0), 0));
      const others = raw.map((share, i) => share / (2 * (sums[sex[i] as number] as number)));
      expect(quadratic(kinship, others)).toBeGreaterThanOrEqual(meanKinship - 1e-12);
    }
  });

  it('do not depend on the order of the animals', () => {
    const { kinship, sex } = world(3, 10, 20);
    const order = [3, 9, 0, 6, 1, 8, 2, 7, 5, 4];
    const turned = Float64Array.from(
      { length: 100 },
      (_, at) => kinship[(order[Math.floor(at / 10)] as number) * 10 + (order[at % 10] as number)] as number,
    );
    const plain = optimumContributions({ kinship, sex }).contributions;
    const { contributions } = optimumContributions({
      kinship: turned,
      sex: Int8Array.from(order, (i) => sex[i] as number),
    });
    contributions.forEach((share, at) => expect(share).toBeCloseTo(plain[order[at] as number] as number, 6));
  });

  it('unrelated animals share equally; one male gives half: by hand', () => {
    const { contributions, meanKinship } = optimumContributions({
      kinship: unrelated(4),
      sex: Int8Array.of(0, 1, 1, 1),
    });
    [1 / 2, 1 / 6, 1 / 6, 1 / 6].forEach((share, i) => expect(contributions[i]).toBeCloseTo(share, 9));
    expect(meanKinship).toBeCloseTo(1 / 8 + 3 / 72, 10);
  });

  it('full sibs share what their group gives: males of two families, by hand', () => {
    // Families of 1 and 2 males from unrelated founders: a lone male costs ½, two sibs together (½ + ¼)/2 = 3/8.
    const pairs = Array.from({ length: 5 }, () => [-1, -1] as [number, number]);
    const pedigree = pedigreeOfPairs([...pairs, [0, 1], [2, 3], [2, 3]]);
    const kinship = kinshipMatrix(pedigree, inbreeding(pedigree), [5, 6, 7, 4]);
    const { contributions } = optimumContributions({ kinship, sex: Int8Array.of(0, 0, 0, 1) });
    [3 / 14, 1 / 7, 1 / 7, 1 / 2].forEach((share, i) => expect(contributions[i]).toBeCloseTo(share, 9));
  });

  it('identical animals share evenly although K is singular', () => {
    const kinship = new Float64Array(25).fill(0.5);
    const { contributions, meanKinship } = optimumContributions({ kinship, sex: Int8Array.of(0, 0, 1, 1, 1) });
    [1 / 4, 1 / 4, 1 / 6, 1 / 6, 1 / 6].forEach((share, i) => expect(contributions[i]).toBeCloseTo(share, 6));
    expect(meanKinship).toBeCloseTo(0.5, 9);
  });

  it('300 animals', () => {
    const { kinship, sex } = world(5, 300, 200);
    const { kktResidual, meanKinship } = optimumContributions({ kinship, sex });
    expect(kktResidual).toBeLessThanOrEqual(1e-10);
    expect(meanKinship).toBeLessThan(quadratic(kinship, new Float64Array(300).fill(1 / 300)));
  });

  it('names what is wrong', () => {
    const good = { kinship: unrelated(2), sex: Int8Array.of(0, 1) };
    expect(() => optimumContributions({ ...good, sex: Int8Array.of(1, 1) })).toThrow('there are no males');
    expect(() => optimumContributions({ ...good, sex: Int8Array.of(0, 2) })).toThrow('sex 1 is 2');
    expect(() => optimumContributions({ ...good, upper: Float64Array.of(0.4, 1) })).toThrow(
      'males sum to less than 1/2',
    );
    const kinshipOf = (...kinship: number[]) => ({ ...good, kinship: Float64Array.from(kinship) });
    expect(() => optimumContributions(kinshipOf(0.5, 0.1, 0, 0.5))).toThrow('not symmetric');
    expect(() => optimumContributions(kinshipOf(0.5, NaN, NaN, 0.5))).toThrow('not a finite number');
    const impossible = { kinship: Float64Array.of(-1, 0, 0, 0, 0.5, 0, 0, 0, 0.5), sex: Int8Array.of(0, 0, 1) };
    expect(() => optimumContributions(impossible)).toThrow('positive semidefinite');
  });
});
