/** Growth of a population from survival and reproduction by age. Times are in age classes. */
export interface LifeTable {
  /** R0 = Σ l·m: offspring that replace one newborn over its life. */
  readonly netReproduction: number;
  /** T = Σ x·l·m / R0: mean age of a mother of a cohort at her births; null without reproduction. */
  readonly generationTime: number | null;
  /** r, the solution of Σ e^(−rx)·l·m = 1 (Euler 1760, Lotka 1907); null without reproduction. */
  readonly growthRate: number | null;
  /** λ = e^r, the factor of growth an age class; 0 without reproduction. */
  readonly finiteRate: number;
  /** ln R0 / T, which only approximates r. */
  readonly approximateGrowthRate: number | null;
  /** Σ x·e^(−rx)·l·m: mean age of the mothers of newborns at the stable age distribution. */
  readonly meanAgeOfMothers: number | null;
}

/**
 * The life table of a population.
 *
 * r is found by halving an interval: Σ e^(−rx)·l·m falls as r rises, from infinity to 0, because nobody gives birth at age 0.
 *
 * @param survival  l by age 0, 1, …: the share of newborns that reach it; l of age 0 is 1, and it never rises
 * @param fecundity m by age: offspring of the same sex a living female has at that age; 0 at age 0
 * @throws RangeError naming the age when a number is out of these bounds, or when the arrays differ in length
 */
export function lifeTable(survival: readonly number[], fecundity: readonly number[]): LifeTable {
  checkTable(survival, fecundity);
  const born = survival.map((l, x) => l * (fecundity[x] as number));
  const discounted = (r: number, power: 0 | 1): number =>
    born.reduce((sum, phi, x) => (phi === 0 ? sum : sum + phi * Math.exp(-r * x) * x ** power), 0);
  const netReproduction = discounted(0, 0);
  if (netReproduction === 0)
    return {
      netReproduction,
      generationTime: null,
      growthRate: null,
      finiteRate: 0,
      approximateGrowthRate: null,
      meanAgeOfMothers: null,
    };
  const generationTime = discounted(0, 1) / netReproduction;
  const growthRate = solve((r) => discounted(r, 0));
  return {
    netReproduction,
    generationTime,
    growthRate,
    finiteRate: Math.exp(growthRate),
    approximateGrowthRate: Math.log(netReproduction) / generationTime,
    meanAgeOfMothers: discounted(growthRate, 1),
  };
}

/** Where a falling function is 1, to the last digit that halving can tell apart. */
function solve(falling: (r: number) => number): number {
  let [low, high] = [-1, 1];
  while (falling(low) < 1) low *= 2;
  while (falling(high) > 1) high *= 2;
  for (;;) {
    const middle = 0.5 * (low + high);
    const value = falling(middle);
    if (value === 1 || middle <= low || middle >= high) return middle;
    if (value > 1) low = middle;
    else high = middle;
  }
}

function checkTable(survival: readonly number[], fecundity: readonly number[]): void {
  if (survival.length !== fecundity.length)
    throw new RangeError(`survival has ${survival.length} ages, fecundity ${fecundity.length}: give both for each age`);
  if (survival[0] !== 1) throw new RangeError('survival at age 0 is not 1: count from birth');
  survival.forEach((l, x) => {
    if (!(l >= 0 && l <= (survival[x - 1] ?? 1)))
      throw new RangeError(`survival at age ${x} is ${l}: it lies between 0 and that of the age before`);
  });
  fecundity.forEach((m, x) => {
    if (!(m >= 0 && m < Infinity)) throw new RangeError(`fecundity at age ${x} is ${m}: give a number of 0 or more`);
    if (x === 0 && m > 0)
      throw new RangeError('fecundity at age 0 is above 0: use narrower age classes, in which newborns have no young');
  });
}
