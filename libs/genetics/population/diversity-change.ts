import { groupMean, groupSize } from '../kinship/kinship.js';
import { UNKNOWN } from '../pedigree/pedigree.js';

/** A population as the changes of its gene diversity need it. */
export interface DiversityState {
  /** n flags, 1 = member. */
  readonly group: Uint8Array;
  readonly size: number;
  /** F of each animal, n numbers. */
  readonly inbreeding: Float64Array;
  /** Mean kinship of each animal with the members, their own included; n numbers. */
  readonly meanKinship: Float64Array;
  /** Mean of the mean kinships of the members. */
  readonly populationMeanKinship: number;
}

/** Two animals as parents, members or not. */
export interface Pair {
  /** −1 = an unknown animal, unrelated to all. */
  readonly sire: number;
  readonly dam: number;
  /** Kinship of the two, which is F of their young; 0 where one is unknown. */
  readonly kinship: number;
}

/**
 * Makes ready for the functions below. O(n).
 *
 * @param inbreeding  F, n numbers
 * @param meanKinship from `meanKinship` with the same group, n numbers
 * @param group       n flags, 1 = member; at least one
 * @throws RangeError when nobody is a member
 */
export function diversityState(inbreeding: Float64Array, meanKinship: Float64Array, group: Uint8Array): DiversityState {
  const populationMeanKinship = groupMean(meanKinship, group);
  return { group, size: groupSize(group), inbreeding, meanKinship, populationMeanKinship };
}

/**
 * Gene diversity after one animal with the given parents joins. Both parents unknown: an unrelated founder, which always
 * raises it. Exact, O(1): the kinships of the newcomer are the means of its parents', f_xj = ½(f_sj + f_dj), and its own
 * is ½(1 + f_sd), so that the sum over the kinship matrix grows by size·(mk_s + mk_d) + ½(1 + f_sd).
 */
export function diversityAfterBirth(state: DiversityState, pair: Pair): number {
  const { size } = state;
  const sum = sumOfKinships(state) + size * parentsMeanKinships(state, pair) + 0.5 * (1 + pair.kinship);
  return 1 - sum / (size + 1) ** 2;
}

/**
 * Gene diversity after a member dies or leaves: the sum over the kinship matrix loses its row and column,
 * 2·size·mk − ½(1 + F). Exact, O(1).
 *
 * @throws RangeError when the animal is no member, or the only one: nobody has no diversity
 */
export function diversityAfterDeath(state: DiversityState, animal: number): number {
  const { size, group, meanKinship, inbreeding } = state;
  if (group[animal] !== 1) throw new RangeError(`animal ${animal} is no member of the group`);
  if (size === 1) throw new RangeError(`animal ${animal} is the only member of the group`);
  const row = 2 * size * (meanKinship[animal] as number);
  const sum = sumOfKinships(state) - row + 0.5 * (1 + (inbreeding[animal] as number));
  return 1 - sum / (size - 1) ** 2;
}

/**
 * Gene diversity after 1, 2, … k young of a pair join. Exact, O(1) a step: as for one birth, and between two of them
 * f = ¼(f_ss + f_dd + 2·f_sd). An unknown parent is one and the same unrelated, not inbred animal for all of them.
 *
 * @param count k, at least 1
 * @returns k numbers, the first that of {@link diversityAfterBirth}
 * @throws RangeError when k is no whole number of 1 or more
 */
export function diversityAfterOffspring(state: DiversityState, pair: Pair, count: number): Float64Array {
  if (!Number.isInteger(count) || count < 1)
    throw new RangeError(`${count} offspring: give a whole number of 1 or more`);
  const { size } = state;
  const before = sumOfKinships(state);
  const withOthers = size * parentsMeanKinships(state, pair);
  const withItself = 0.5 * (1 + pair.kinship);
  const withSibling = 0.25 * (ownKinship(state, pair.sire) + ownKinship(state, pair.dam) + 2 * pair.kinship);
  return Float64Array.from({ length: count }, (_, at) => {
    const k = at + 1;
    return 1 - (before + k * withOthers + k * withItself + k * at * withSibling) / (size + k) ** 2;
  });
}

/** Sum over the kinship matrix of the members. */
function sumOfKinships({ size, populationMeanKinship }: DiversityState): number {
  return size * size * populationMeanKinship;
}

function parentsMeanKinships({ meanKinship }: DiversityState, { sire, dam }: Pair): number {
  const of = (parent: number): number => (parent === UNKNOWN ? 0 : (meanKinship[parent] as number));
  return of(sire) + of(dam);
}

function ownKinship({ inbreeding }: DiversityState, parent: number): number {
  return 0.5 * (1 + (parent === UNKNOWN ? 0 : (inbreeding[parent] as number)));
}
