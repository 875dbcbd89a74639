import { addToParent, parentValue } from '../pedigree/candidates.js';
import { mendelianSamplings } from '../inbreeding/inbreeding-uncertain.js';
import type { Pedigree } from '../pedigree/pedigree.js';

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
 * Where parents have candidates A holds the average relationships (Henderson 1988): a candidate gets, and gives, its share
 * by probability.
 *
 * @param inbreeding F of each, from {@link inbreeding}
 * @param weights    x, n numbers; left unchanged
 * @param sampling   D of each, from `mendelianSamplings`, looked at only where parents have candidates. Hand it in where many
 *   products are asked of such a pedigree: left out, it is computed anew each time, which costs more than the product
 * @returns y, n numbers
 */
export function relationshipProduct(
  pedigree: Pedigree,
  inbreeding: Float64Array,
  weights: Float64Array,
  sampling?: Float64Array,
): Float64Array {
  if (pedigree.sireCandidates || pedigree.damCandidates)
    return weightedProduct(pedigree, sampling ?? mendelianSamplings(pedigree, inbreeding), weights);
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

/** The product where parents have candidates. */
function weightedProduct(pedigree: Pedigree, sampling: Float64Array, weights: Float64Array): Float64Array {
  const { sire, dam, order, sireCandidates, damCandidates } = pedigree;
  const y = Float64Array.from(weights);
  for (let k = order.length - 1; k >= 0; k--) {
    const i = order[k] as number;
    const half = 0.5 * (y[i] as number);
    if (half === 0) continue;
    addToParent(y, sire, sireCandidates, i, half);
    addToParent(y, dam, damCandidates, i, half);
  }
  for (let k = 0; k < order.length; k++) {
    const i = order[k] as number;
    const fromParents = parentValue(y, sire, sireCandidates, i) + parentValue(y, dam, damCandidates, i);
    y[i] = 0.5 * fromParents + (sampling[i] as number) * (y[i] as number);
  }
  return y;
}
