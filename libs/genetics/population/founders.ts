import { addToParent, hasParent } from '../pedigree/candidates.js';
import { groupSize } from '../kinship/kinship.js';
import type { Pedigree } from '../pedigree/pedigree.js';

/**
 * Expected share of each founder in the genes of a reference group. The three arrays (n numbers each, in the caller's
 * numbering) sum to 1 together; entries of animals that are no founders are 0.
 */
export interface FounderContributions {
  /** Founders: animals without any recorded parent. */
  readonly founder: Float64Array;
  /** The unknown sire of animal i, whose dam is known: a founder of his own for each such animal. */
  readonly unknownSire: Float64Array;
  /** The unknown dam of animal i, whose sire is known. */
  readonly unknownDam: Float64Array;
}

/**
 * Founder contributions p: each member of the group starts with 1/size, and every animal, children first, hands half of
 * what it holds to each parent (Lacy 1989, Zoo Biol. 8:111), to candidates by their probabilities. O(n).
 *
 * @param group n flags, 1 = member; at least one
 */
export function founderContributions(pedigree: Pedigree, group: Uint8Array): FounderContributions {
  const { sire, dam, order, sireCandidates, damCandidates } = pedigree;
  const n = order.length;
  const size = groupSize(group);
  const founder = Float64Array.from(group, (member) => (member ? 1 / size : 0));
  const unknownSire = new Float64Array(n);
  const unknownDam = new Float64Array(n);
  for (let k = n - 1; k >= 0; k--) {
    const i = order[k] as number;
    const hasSire = hasParent(sire, sireCandidates, i);
    const hasDam = hasParent(dam, damCandidates, i);
    if (!hasSire && !hasDam) continue;
    const half = 0.5 * (founder[i] as number);
    founder[i] = 0;
    if (hasSire) addToParent(founder, sire, sireCandidates, i, half);
    else unknownSire[i] = half;
    if (hasDam) addToParent(founder, dam, damCandidates, i, half);
    else unknownDam[i] = half;
  }
  return { founder, unknownSire, unknownDam };
}

/**
 * Founder equivalents fe = 1/Σp² (Lacy 1989): so many founders contributing equally would give the same evenness.
 * Convention: the unknown parent of a half-known animal is one founder that nobody else descends from.
 */
export function founderEquivalents({ founder, unknownSire, unknownDam }: FounderContributions): number {
  return 1 / (sumOfSquares(founder) + sumOfSquares(unknownSire) + sumOfSquares(unknownDam));
}

/**
 * Founder equivalents over the declared founders only, their contributions rescaled to sum to 1: fe = (Σp)²/Σp².
 * Equal to {@link founderEquivalents} where no animal is half known.
 */
export function founderEquivalentsKnownOnly({ founder }: FounderContributions): number {
  const known = founder.reduce((sum, p) => sum + p, 0);
  return (known * known) / sumOfSquares(founder);
}

function sumOfSquares(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value * value;
  return sum;
}
