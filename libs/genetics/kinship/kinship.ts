import type { Pedigree } from '../pedigree/pedigree.js';
import { relationshipProduct } from './relationship.js';

/**
 * Kinship f of one animal with all animals: the chance that a gene drawn from each is a copy of the same ancestral one
 * (Malécot 1948). f = ½ A·e, one relationship product, O(n). With itself: (1 + F)/2.
 *
 * @param sampling see `relationshipProduct`
 * @returns n kinships
 */
export function kinshipWithAll(
  pedigree: Pedigree,
  inbreeding: Float64Array,
  animal: number,
  sampling?: Float64Array,
): Float64Array {
  const weights = new Float64Array(pedigree.order.length);
  weights[animal] = 0.5;
  return relationshipProduct(pedigree, inbreeding, weights, sampling);
}

/**
 * Kinship of two animals, which is the inbreeding of their offspring (Wright 1922; Malécot 1948). O(n): for many pairs
 * with one partner in common use {@link kinshipWithAll}.
 */
export function kinship(
  pedigree: Pedigree,
  inbreeding: Float64Array,
  a: number,
  b: number,
  sampling?: Float64Array,
): number {
  return kinshipWithAll(pedigree, inbreeding, a, sampling)[b] as number;
}

/**
 * Mean kinship of every animal with a reference group: the average of f_ij over the members j of the group. A member's
 * own kinship with itself, (1 + F)/2, is part of its average (Ballou & Lacy 1995). One relationship product for all.
 *
 * @param group    n flags, 1 = member; at least one
 * @param sampling see `relationshipProduct`
 * @returns n mean kinships, of members and of all others
 * @throws RangeError when nobody is a member
 */
export function meanKinship(
  pedigree: Pedigree,
  inbreeding: Float64Array,
  group: Uint8Array,
  sampling?: Float64Array,
): Float64Array {
  const share = 0.5 / groupSize(group);
  const weights = new Float64Array(group.length);
  for (let i = 0; i < group.length; i++) if (group[i]) weights[i] = share;
  return relationshipProduct(pedigree, inbreeding, weights, sampling);
}

/**
 * Average of a value over the members of a group, the step from mean kinships to the mean kinship of a population.
 *
 * @param values n numbers
 * @param group  n flags, 1 = member; at least one
 * @throws RangeError when nobody is a member
 */
export function groupMean(values: Float64Array, group: Uint8Array): number {
  let sum = 0;
  for (let i = 0; i < group.length; i++) if (group[i]) sum += values[i] as number;
  return sum / groupSize(group);
}

/**
 * Number of members of a group.
 *
 * @throws RangeError when there is none: a mean over nobody has no value
 */
export function groupSize(group: Uint8Array): number {
  let size = 0;
  for (let i = 0; i < group.length; i++) if (group[i]) size++;
  if (size === 0) throw new RangeError('the reference group has no members');
  return size;
}
