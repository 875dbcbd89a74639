import { inbreedingUncertain } from './inbreeding-uncertain.js';
import { groupOffspring, numberParents } from './parent-pedigree.js';
import type { Pedigree } from './pedigree.js';
import { mendelianSampling } from './relationship.js';
import { relationshipRow } from './relationship-row.js';

/**
 * Inbreeding coefficient F of every animal, F = kinship of its parents (Wright 1922; Malécot 1948). Animals with an
 * unknown parent have F = 0; unknown parents are taken as unrelated and not inbred, so F is a lower bound.
 *
 * One relationship product a parent, restricted to what it needs, in place of one search an animal: after Colleau 2002
 * (Genet. Sel. Evol. 34:409) and Sargolzaei, Iwaisaki & Colleau 2005 (J. Anim. Breed. Genet. 122:325).
 * Take the sex with fewer parents. For each of them, p, oldest first:
 *   up:   w = Tᵀe_p over the ancestors of p;
 *   down: u_j = ½(u_sire + u_dam) + D_j·w_j over the ancestors of p's mates, which is A_pj;
 *   F of each offspring of p with mate q is ½·u_q.
 * D_j of an ancestor of p needs the F of its parents only, and they are older than p. Brothers and sisters, and half
 * siblings by p, share the work. A mate that is p itself (selfing) needs no pass: A_pp = 1 + F_p. Only animals with offspring
 * take part. Where parents have candidates the method is {@link inbreedingUncertain}.
 *
 * @returns n coefficients
 */
export function inbreeding(pedigree: Pedigree): Float64Array {
  if (pedigree.sireCandidates || pedigree.damCandidates) return inbreedingUncertain(pedigree);
  const parents = numberParents(pedigree);
  const { count, sire, dam, slotOf } = parents;
  const { start, child, mate } = groupOffspring(pedigree, parents);
  const f = new Float64Array(pedigree.order.length);
  const slotF = new Float64Array(count + 1);
  slotF[0] = -1; // slot 0 is the unknown parent: see mendelianSampling
  const sampling = new Float64Array(count + 1);
  const row = relationshipRow(sire, dam, sampling);

  for (let pivot = 1; pivot <= count; pivot++) {
    sampling[pivot] = mendelianSampling(slotF[sire[pivot] as number] as number, slotF[dam[pivot] as number] as number);
    const first = start[pivot] as number;
    const end = start[pivot + 1] as number;
    if (first === end) continue;
    const mates = mate.subarray(first, end);
    row.fill(pivot, mates);
    for (let k = first; k < end; k++) {
      const animal = child[k] as number;
      const other = mate[k] as number;
      const relationship = other === pivot ? 1 + (slotF[pivot] as number) : (row.value[other] as number);
      f[animal] = 0.5 * relationship;
      const slot = slotOf[animal] as number;
      if (slot > 0) slotF[slot] = 0.5 * relationship;
    }
    row.clear();
  }
  return f;
}
