import type { Pedigree } from './pedigree.js';

/**
 * Share of an animal's genes that its parents' own inbreeding leaves to chance (Mendelian sampling), the diagonal D of
 * A = T D Tᵀ (Quaas 1976, Biometrics 32:949):
 * both parents known ½ − ¼(F_sire + F_dam); one known ¾ − ¼F_parent; none 1.
 *
 * @param fSire inbreeding of the sire, or −1 where he is not known; the formula then covers all three cases
 * @param fDam  the same for the dam
 */
export function mendelianSampling(fSire: number, fDam: number): number {
  return 0.5 - 0.25 * (fSire + fDam);
}

/**
 * The product y = A·x of the additive relationship matrix (A = 2 × kinship) with one weight an animal, without building
 * the matrix: two passes over the pedigree, O(n). Colleau 2002, Genet. Sel. Evol. 34:409.
 *
 * Up, children first: v = Tᵀx, each animal passes half its weight to each parent. Down, parents first:
 * y_i = ½(y_sire + y_dam) + D_i·v_i.
 *
 * @param pedigree   n animals
 * @param inbreeding F of each, from {@link inbreeding}
 * @param weights    x, n numbers; left unchanged
 * @returns y, n numbers
 */
export function relationshipProduct(pedigree: Pedigree, inbreeding: Float64Array, weights: Float64Array): Float64Array {
  const { sire, dam, order } = pedigree;
  const n = order.length;
  const y = Float64Array.from(weights);
  for (let k = n - 1; k >= 0; k--) {
    const i = order[k] as number;
    const half = 0.5 * (y[i] as number);
    if (half === 0) continue;
    const s = sire[i] as number;
    const d = dam[i] as number;
    if (s >= 0) y[s] = (y[s] as number) + half;
    if (d >= 0) y[d] = (y[d] as number) + half;
  }
  for (let k = 0; k < n; k++) {
    const i = order[k] as number;
    const s = sire[i] as number;
    const d = dam[i] as number;
    const fSire = s < 0 ? -1 : (inbreeding[s] as number);
    const fDam = d < 0 ? -1 : (inbreeding[d] as number);
    const fromParents = (s < 0 ? 0 : (y[s] as number)) + (d < 0 ? 0 : (y[d] as number));
    y[i] = 0.5 * fromParents + mendelianSampling(fSire, fDam) * (y[i] as number);
  }
  return y;
}
