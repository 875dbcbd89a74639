import { groupSize } from '../kinship/kinship.js';

/** Effective population size from the inbreeding of single animals. */
export interface EffectiveSize {
  /** Ne; infinite where no animal that counts is inbred. */
  readonly size: number;
  /** Standard error of Ne; not a number where one animal only counts. */
  readonly standardError: number;
  /** Mean ΔF of the animals that count. */
  readonly increase: number;
  /** How many members have more than one generation equivalent, and so count. */
  readonly counted: number;
}

/**
 * Increase in inbreeding a generation of one animal, ΔF = 1 − (1 − F)^(1/(t − 1)) (Gutiérrez et al. 2009, Genet. Sel. Evol.
 * 41:17; t − 1 because selfing is excluded: the first generation cannot be inbred).
 *
 * @param inbreeding  F, 0 … 1
 * @param generations t, its complete generation equivalents
 * @returns ΔF, or null where t ≤ 1: so shallow a pedigree says nothing
 */
export function inbreedingIncrease(inbreeding: number, generations: number): number | null {
  return generations > 1 ? 1 - (1 - inbreeding) ** (1 / (generations - 1)) : null;
}

/**
 * Effective population size Ne = 1/(2 · mean ΔF) over the members of a group, with the standard error that follows from the
 * scatter of ΔF, 2·Ne²·σ/√counted (Gutiérrez et al. 2008, Genet. Sel. Evol. 40:359). Members with t ≤ 1 do not count.
 *
 * @param inbreeding  F, n numbers
 * @param generations t, n numbers, from `generationEquivalents`
 * @param group       n flags, 1 = member; at least one
 * @returns null where no member has more than one generation equivalent
 * @throws RangeError when nobody is a member
 */
export function effectiveSize(
  inbreeding: Float64Array,
  generations: Float64Array,
  group: Uint8Array,
): EffectiveSize | null {
  groupSize(group);
  let [counted, mean, deviations] = [0, 0, 0];
  for (let i = 0; i < group.length; i++) {
    if (!group[i]) continue;
    const increase = inbreedingIncrease(inbreeding[i] as number, generations[i] as number);
    if (increase === null) continue;
    const before = increase - mean;
    mean += before / ++counted;
    deviations += before * (increase - mean);
  }
  if (counted === 0) return null;
  const size = 1 / (2 * mean);
  const spread = Math.sqrt(deviations / (counted - 1) / counted);
  return { size, standardError: mean === 0 ? NaN : 2 * size * size * spread, increase: mean, counted };
}

/**
 * Effective population size from the numbers of breeding males and females, Ne = 4·Nm·Nf/(Nm + Nf) (Wright 1931, Genetics
 * 16:97): equal family sizes apart from chance, no overlap of generations. 0 where one sex is missing.
 *
 * @throws RangeError when a number is negative or no number
 */
export function sexRatioEffectiveSize(males: number, females: number): number {
  if (!(males >= 0 && females >= 0) || !Number.isFinite(males + females))
    throw new RangeError(`${males} males and ${females} females: give two numbers of 0 or more`);
  return males + females === 0 ? 0 : (4 * males * females) / (males + females);
}
