import { hasParent, parentValue } from './candidates.js';
import type { Candidates, Pedigree } from './pedigree.js';

/**
 * Complete generation equivalents t of every animal: the sum of (1/2)^n over all its known ancestors, n being the
 * generations between them (Maignel, Boichard & Verrier 1996, Interbull Bulletin 14:49; used as t by Gutiérrez et al.
 * 2008). t = Σ ½(1 + t_parent) over the known parents; a founder has 0, an animal with one known founder parent ½.
 * Candidates count by their probabilities.
 *
 * @returns n numbers
 */
export function generationEquivalents(pedigree: Pedigree): Float64Array {
  const { sire, dam, order, sireCandidates, damCandidates } = pedigree;
  const t = new Float64Array(order.length);
  for (let k = 0; k < order.length; k++) {
    const i = order[k] as number;
    let sum = parentValue(t, sire, sireCandidates, i) + parentValue(t, dam, damCandidates, i);
    if (hasParent(sire, sireCandidates, i)) sum += 1;
    if (hasParent(dam, damCandidates, i)) sum += 1;
    t[i] = 0.5 * sum;
  }
  return t;
}

/**
 * Generations between each animal and its farthest known ancestor, along the longest path; 0 for a founder. Candidates
 * count like parents.
 *
 * @returns n numbers
 */
export function longestPaths(pedigree: Pedigree): Int32Array {
  const { sire, dam, order, sireCandidates, damCandidates } = pedigree;
  const longest = new Int32Array(order.length);
  for (let k = 0; k < order.length; k++) {
    const i = order[k] as number;
    longest[i] = Math.max(above(longest, sire, sireCandidates, i), above(longest, dam, damCandidates, i));
  }
  return longest;
}

/** One more than the longest path of a parent, or of the candidate with the longest; 0 for an unknown parent. */
function above(longest: Int32Array, certain: Int32Array, candidates: Candidates | undefined, animal: number): number {
  const parent = certain[animal] as number;
  if (parent >= 0) return 1 + (longest[parent] as number);
  if (!candidates) return 0;
  let most = 0;
  const end = candidates.start[animal + 1] as number;
  for (let k = candidates.start[animal] as number; k < end; k++)
    most = Math.max(most, 1 + (longest[candidates.parent[k] as number] as number));
  return most;
}
