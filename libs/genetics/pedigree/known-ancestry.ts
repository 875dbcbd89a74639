import { hasParent, parentValue } from './candidates.js';
import type { Pedigree } from './pedigree.js';

/**
 * Share of each animal's ancestry that leads back to declared founders: a declared founder 1, an unknown parent 0, and
 * otherwise the mean of the two parents, a parent with several candidates counting their mean weighted by probability.
 * Own definition; it says how far an inbreeding coefficient, which is a lower bound, may be trusted. Which of the
 * candidates it was is not known and lowers nothing here: their own ancestry is.
 *
 * @param founders n flags, 1 = declared a founder. An animal without any recorded parent that is not declared one is of
 *   unknown origin: 0. The flag of an animal with a recorded parent is not looked at. Left out, every animal without any
 *   recorded parent is a founder, which is how a file with two blank parents is read.
 * @returns n shares, 0 … 1
 * @throws RangeError when there are flags for another number of animals
 */
export function knownAncestry(pedigree: Pedigree, founders?: Uint8Array): Float64Array {
  const { sire, dam, order, sireCandidates, damCandidates } = pedigree;
  const n = order.length;
  if (founders && founders.length !== n) throw new RangeError(`${founders.length} founder flags for ${n} animals`);
  const share = new Float64Array(n);
  for (const i of order) {
    if (hasParent(sire, sireCandidates, i) || hasParent(dam, damCandidates, i)) {
      const ofSire = parentValue(share, sire, sireCandidates, i);
      share[i] = 0.5 * (ofSire + parentValue(share, dam, damCandidates, i));
    } else share[i] = !founders || founders[i] === 1 ? 1 : 0;
  }
  return share;
}
