import { pairKinshipUncertain } from './pair-kinship-uncertain.js';
import { numberParents } from '../inbreeding/parent-pedigree.js';
import type { Pedigree } from '../pedigree/pedigree.js';
import { mendelianSampling } from './relationship.js';
import { addToQueue, listAncestors, slotQueue } from '../inbreeding/slot-queue.js';

/** Kinship of two animals of a pedigree; symmetric. */
export type PairKinship = (a: number, b: number) => number;

/**
 * Prepares for the kinships of single pairs, one after another: the inbreeding of an animal that is born is the kinship of
 * its parents, without looking at anybody but their ancestors. f_ab = ½ Σ_j c_aj·c_bj·D_j over the ancestors j, where c_aj
 * is the share of a's genes that came by way of j, halved at each step (the row of T in A = T D Tᵀ, Quaas 1976).
 *
 * Preparing costs O(n) time and 40 bytes a parent; a question costs its ancestors and allocates nothing. Make it anew when
 * the pedigree changes; an animal added since can be asked about through its parents. Where parents have candidates
 * preparing costs what `mendelianSamplings` does, unless the sampling is handed in.
 *
 * @param inbreeding F of each animal, from `inbreeding`
 * @param sampling   see `relationshipProduct`
 */
export function pairKinship(pedigree: Pedigree, inbreeding: Float64Array, sampling?: Float64Array): PairKinship {
  if (pedigree.sireCandidates || pedigree.damCandidates) return pairKinshipUncertain(pedigree, inbreeding, sampling);
  const parents = numberParents(pedigree);
  const { count, sire, dam, slotOf } = parents;
  const chance = new Float64Array(count + 1);
  const f = (animal: number): number => (animal < 0 ? -1 : (inbreeding[animal] as number));
  for (let i = 0; i < slotOf.length; i++)
    if (slotOf[i] !== 0)
      chance[slotOf[i] as number] = mendelianSampling(f(pedigree.sire[i] as number), f(pedigree.dam[i] as number));
  // The shares of both animals stand side by side; slot 0 gathers what goes to unknown parents.
  const shares = new Float64Array(2 * (count + 1));
  const queue = slotQueue(count);
  const list = new Int32Array(count);

  /** Enters an animal, or its parents where it has no offspring itself; gives the highest slot entered. */
  const enter = (animal: number, column: 0 | 1): number => {
    const own = slotOf[animal] as number;
    if (own !== 0) return enterSlot(own, column, 1);
    const s = pedigree.sire[animal] as number;
    const d = pedigree.dam[animal] as number;
    const bySire = s < 0 ? 0 : enterSlot(slotOf[s] as number, column, 0.5);
    const byDam = d < 0 ? 0 : enterSlot(slotOf[d] as number, column, 0.5);
    return Math.max(bySire, byDam);
  };
  const enterSlot = (slot: number, column: 0 | 1, share: number): number => {
    shares[2 * slot + column] = (shares[2 * slot + column] as number) + share;
    addToQueue(queue, slot);
    return slot;
  };

  return (a, b) => {
    if (a === b) return 0.5 * (1 + (inbreeding[a] as number));
    const youngest = Math.max(enter(a, 0), enter(b, 1));
    if (youngest === 0) return 0;
    const size = listAncestors(parents, queue, youngest, 1, list);
    return 0.5 * sumShared(sire, dam, chance, list, size, shares);
  };
}

/** Σ c_a·c_b·D over the list, which goes from young to old; leaves the shares at zero. */
function sumShared(
  sire: Int32Array,
  dam: Int32Array,
  chance: Float64Array,
  list: Int32Array,
  size: number,
  shares: Float64Array,
): number {
  let sum = 0;
  for (let at = 0; at < size; at++) {
    const slot = list[at] as number;
    const k = 2 * slot;
    const a = shares[k] as number;
    const b = shares[k + 1] as number;
    shares[k] = 0;
    shares[k + 1] = 0;
    sum += a * b * (chance[slot] as number);
    const s = 2 * (sire[slot] as number);
    shares[s] = (shares[s] as number) + 0.5 * a;
    shares[s + 1] = (shares[s + 1] as number) + 0.5 * b;
    const d = 2 * (dam[slot] as number);
    shares[d] = (shares[d] as number) + 0.5 * a;
    shares[d + 1] = (shares[d + 1] as number) + 0.5 * b;
  }
  return sum;
}
