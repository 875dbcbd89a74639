import { parentValue } from '../pedigree/candidates.js';
import type { Pedigree } from '../pedigree/pedigree.js';

/**
 * Ancestral inbreeding Fa of every animal, the share of its genes that were already exposed to inbreeding in an ancestor:
 * Fa_x = ½ Σ over the parents p of Fa_p + (1 − Fa_p)·F_p (Ballou 1997, J. Hered. 88:169). An unknown parent adds 0, so that Fa
 * is a lower bound as F is. Ballou's formula takes Fa and F of a parent as independent; that is the published definition.
 * With candidates the mean over them by probability is taken, an extension of our own.
 *
 * @param inbreeding F of each, from `inbreeding`
 * @returns n numbers, 0 … 1
 */
export function ancestralInbreeding(pedigree: Pedigree, inbreeding: Float64Array): Float64Array {
  const { sire, dam, order, sireCandidates, damCandidates } = pedigree;
  const ancestral = new Float64Array(order.length);
  const handedOn = new Float64Array(order.length); // Fa + (1 − Fa)·F of an animal as a parent
  for (let k = 0; k < order.length; k++) {
    const i = order[k] as number;
    const fa = 0.5 * (parentValue(handedOn, sire, sireCandidates, i) + parentValue(handedOn, dam, damCandidates, i));
    ancestral[i] = fa;
    handedOn[i] = fa + (1 - fa) * (inbreeding[i] as number);
  }
  return ancestral;
}
