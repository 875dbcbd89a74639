import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { inbreeding, mendelianSamplings, relationshipProduct } from '../index.js';
import { certainWorld, pedigreeOf, tabularKinship, uncertainWorld } from '../pedigree/pedigree-worlds.js';

const certain = fc.array(fc.nat(), { minLength: 1, maxLength: 40 }).map(certainWorld);
const uncertain = fc.array(fc.nat(), { minLength: 1, maxLength: 30 }).map(uncertainWorld);

/** Square roots on the diagonal of the Cholesky factor, NaN from the first pivot below −rounding on. */
function choleskyPivots(matrix: readonly number[][]): number[] {
  const n = matrix.length;
  const lower = matrix.map((row) => [...row]);
  const pivots: number[] = [];
  for (let k = 0; k < n; k++) {
    const rowK = lower[k] as number[];
    let pivot = rowK[k] as number;
    for (let m = 0; m < k; m++) pivot -= (rowK[m] as number) ** 2;
    pivots.push(pivot);
    const root = Math.sqrt(Math.max(pivot, 1e-300));
    rowK[k] = root;
    for (let i = k + 1; i < n; i++) {
      const row = lower[i] as number[];
      let value = row[k] as number;
      for (let m = 0; m < k; m++) value -= (row[m] as number) * (rowK[m] as number);
      row[k] = value / root;
    }
  }
  return pivots;
}

describe('the relationship matrix', () => {
  it('is positive semi-definite: x′Ax ≥ 0 for any x', () => {
    const weighted = fc.oneof(certain, uncertain).chain((world) =>
      fc.tuple(
        fc.constant(world),
        fc.array(fc.integer({ min: -1_000, max: 1_000 }), {
          minLength: world.sire.length,
          maxLength: world.sire.length,
        }),
      ),
    );
    fc.assert(
      fc.property(weighted, ([world, weights]) => {
        const pedigree = pedigreeOf(world);
        const x = Float64Array.from(weights);
        const y = relationshipProduct(pedigree, inbreeding(pedigree), x);
        expect(y.reduce((sum, value, i) => sum + value * (x[i] ?? 0), 0)).toBeGreaterThanOrEqual(-1e-6);
      }),
    );
  });

  it('has a Cholesky factor whose squared diagonal, parents first, is D (A = T D Tᵀ)', () => {
    fc.assert(
      fc.property(uncertain, (world) => {
        const pedigree = pedigreeOf(world);
        const f = inbreeding(pedigree);
        const matrix = tabularKinship(pedigree);
        const order = [...pedigree.order];
        const pivots = choleskyPivots(order.map((i) => order.map((j) => 2 * (matrix[i]?.[j] ?? NaN))));
        const sampling = mendelianSamplings(pedigree, f);
        // D is 0 only for the young of wholly inbred parents, which so small a pedigree does not reach.
        pivots.forEach((pivot, k) => expect(pivot).toBeCloseTo(sampling[order[k] ?? -1] ?? NaN, 9));
        expect(pivots.every((pivot) => pivot > 0)).toBe(true);
      }),
    );
  });

  it('is symmetric, and its product linear', () => {
    fc.assert(
      fc.property(uncertain, fc.integer(), (world, draw) => {
        const pedigree = pedigreeOf(world);
        const n = pedigree.order.length;
        const f = inbreeding(pedigree);
        const [i, j] = [Math.abs(draw) % n, Math.abs(draw >> 7) % n];
        const unit = (at: number) => Float64Array.from({ length: n }, (_, k) => (k === at ? 1 : 0));
        const [ofI, ofJ] = [relationshipProduct(pedigree, f, unit(i)), relationshipProduct(pedigree, f, unit(j))];
        expect(ofI[j]).toBeCloseTo(ofJ[i] ?? NaN, 12);
        const both = relationshipProduct(
          pedigree,
          f,
          unit(i).map((one, k) => 3 * one - (k === j ? 2 : 0)),
        );
        both.forEach((value, k) => expect(value).toBeCloseTo(3 * (ofI[k] ?? NaN) - 2 * (ofJ[k] ?? NaN), 12));
      }),
    );
  });
});
