import type { Pedigree } from './pedigree.js';

/**
 * Share of each animal's ancestry that leads back to declared founders. An animal without any recorded parent is a
 * declared founder: 1. An unknown parent beside a known one counts 0. Otherwise the mean of the two parents. Own
 * definition; it says how far an inbreeding coefficient, which is a lower bound, may be trusted.
 *
 * @returns n shares, 0 … 1
 */
export function knownAncestry({ sire, dam, order }: Pedigree): Float64Array {
  const share = new Float64Array(order.length);
  for (const i of order) {
    const s = sire[i] as number;
    const d = dam[i] as number;
    const isFounder = s < 0 && d < 0;
    share[i] = isFounder ? 1 : 0.5 * ((s < 0 ? 0 : (share[s] as number)) + (d < 0 ? 0 : (share[d] as number)));
  }
  return share;
}
