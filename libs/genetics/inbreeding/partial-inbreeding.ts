import { hasParent, parentValue } from '../pedigree/candidates.js';
import { inbreedingByShare } from './inbreeding-uncertain.js';
import type { Pedigree } from '../pedigree/pedigree.js';

/** A source of genes: an animal without recorded parents, or the unknown parent of a half-known animal. */
export type FounderSource = { readonly founder: number } | { readonly unknownParentOf: number };

/**
 * Share of each animal's genes that comes from one founder: 1 for the founder, 0 for others, otherwise the mean of the
 * parents, candidates by their probabilities (Lacy 1989, Zoo Biol. 8:111).
 *
 * @returns n shares, 0 … 1
 * @throws RangeError when the animal named is no such source
 */
export function founderShares(pedigree: Pedigree, source: FounderSource): Float64Array {
  const { sire, dam, order, sireCandidates, damCandidates } = pedigree;
  const share = new Float64Array(order.length);
  const [animal, known] = 'founder' in source ? [source.founder, 0] : [source.unknownParentOf, 1];
  if (!(animal in share)) throw new RangeError(`there is no animal ${animal} in a pedigree of ${order.length}`);
  const parents = Number(hasParent(sire, sireCandidates, animal)) + Number(hasParent(dam, damCandidates, animal));
  if (parents !== known)
    throw new RangeError(
      known === 0 ? `animal ${animal} has a recorded parent and is no founder` : `animal ${animal} is not half known`,
    );
  for (let k = 0; k < order.length; k++) {
    const i = order[k] as number;
    const fromParents = parentValue(share, sire, sireCandidates, i) + parentValue(share, dam, damCandidates, i);
    if (i === animal) share[i] = known === 0 ? 1 : 0.5 * (fromParents + 1);
    else share[i] = 0.5 * fromParents;
  }
  return share;
}

/**
 * Partial inbreeding coefficients by founder: the chance that both genes of an animal are copies of the same gene of that
 * founder (Lacy, Alaks & Walsh 1996, Evolution 50:2187). Summed over all founders, the unknown parents of half-known animals
 * included, they give F. Costs about as much as all F, for each founder.
 *
 * @param source the founder
 * @returns n coefficients
 * @throws RangeError when the animal named is no founder, or not half known
 */
export function partialInbreeding(pedigree: Pedigree, source: FounderSource): Float64Array {
  return inbreedingByShare(pedigree, founderShares(pedigree, source));
}
