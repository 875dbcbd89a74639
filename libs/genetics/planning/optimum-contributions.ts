import { leastQuadratic } from './least-quadratic.js';

/** The candidates for the next generation. */
export interface ContributionProblem {
  /** n × n, symmetric, with (1 + F)/2 on the diagonal. */
  readonly kinship: Float64Array;
  /** 0 male, 1 female. */
  readonly sex: Int8Array;
  /** Greatest share of each animal, of a whole of 1 (½ = all young of that sex's half); absent: no limit. */
  readonly upper?: Float64Array;
}

/** How much each animal should give, and what comes of it. */
export interface OptimumContributions {
  /** c ≥ 0, ½ in sum over the males and ½ over the females. */
  readonly contributions: Float64Array;
  /** c'Kc, the least possible. */
  readonly meanKinship: number;
  /**
   * 1 - c'Kc: of two genes drawn, with replacement, from the gametes the parents give in these shares, the chance that
   * they are not identical by descent. Two genes may come from one parent: (1 + F)/2 of K's diagonal. It is the gene
   * diversity of very many young; of few young it is lower in expectation, because each is also counted with itself.
   */
  readonly geneDiversity: number;
  /** How far from optimal at most: see kktResidual. At most 1e-10. */
  readonly kktResidual: number;
}

const TOLERANCE = 1e-10;
/** Small beside any kinship, large beside rounding: makes identical animals share evenly. */
const DAMPING = 1e-4;
const ROUNDS = 200;

/**
 * The contributions c ≥ 0 of males (sum ½) and females (sum ½) with the least mean kinship c'Kc among their young, which
 * is c'Ac/2 (Meuwissen 1997).
 *
 * Proximal steps: each minimises c'Kc + ε|c - previous|² exactly (active set), so that K may be singular; the first
 * one starts from 0, so that of equally good answers the most even one is taken (up to ε). The fixed point of the steps
 * is the optimum of c'Kc itself; they stop once the optimality conditions of c'Kc hold within 1e-10.
 *
 * @throws RangeError for a wrong length, a NaN, K not symmetric or not positive semidefinite, an unknown sex, no males
 *   or no females, or upper limits that do not let a sex reach ½
 */
export function optimumContributions(problem: ContributionProblem): OptimumContributions {
  const { kinship, sex } = problem;
  const n = sex.length;
  refuseBadKinship(kinship, n);
  const upper = upperLimits(problem);
  const damped = kinship.slice();
  for (let i = 0; i < n; i++) damped[i * n + i] = (damped[i * n + i] as number) + DAMPING;
  let contributions = evenShares(sex, upper);
  let pull = new Float64Array(n);
  for (let round = 0; round < ROUNDS; round++) {
    contributions = leastQuadratic({ matrix: damped, pull, group: sex, upper, start: contributions });
    const half = product(kinship, contributions);
    const residual = kktResidual(half, contributions, sex, upper);
    if (residual <= TOLERANCE) {
      const meanKinship = contributions.reduce((sum, share, i) => sum + share * (half[i] as number), 0);
      return { contributions, meanKinship, geneDiversity: 1 - meanKinship, kktResidual: residual };
    }
    pull = contributions.map((share) => share * DAMPING);
  }
  throw new RangeError('no optimum found within the tolerance: kinship is too badly scaled');
}

/**
 * Largest breach of the Karush-Kuhn-Tucker conditions: within a sex, no animal that could give less may have a higher
 * gradient 2(Kc) than one that could give more; and the shares of each sex sum to ½.
 */
function kktResidual(half: Float64Array, shares: Float64Array, sex: Int8Array, upper: Float64Array): number {
  let worst = 0;
  for (const side of [0, 1]) {
    let highest = -Infinity;
    let lowest = Infinity;
    let sum = 0;
    for (let i = 0; i < sex.length; i++) {
      if (sex[i] !== side) continue;
      sum += shares[i] as number;
      if ((shares[i] as number) > 0) highest = Math.max(highest, 2 * (half[i] as number));
      if ((shares[i] as number) < (upper[i] as number)) lowest = Math.min(lowest, 2 * (half[i] as number));
    }
    worst = Math.max(worst, highest - lowest, Math.abs(sum - 0.5));
  }
  return worst;
}

function product(matrix: Float64Array, vector: Float64Array): Float64Array {
  const n = vector.length;
  return vector.map((_, i) => {
    let sum = 0;
    for (let j = 0; j < n; j++) sum += (matrix[i * n + j] as number) * (vector[j] as number);
    return sum;
  });
}

/** Equal shares, but none above its limit: what a limited animal cannot give, the others give equally. */
function evenShares(sex: Int8Array, upper: Float64Array): Float64Array {
  const shares = new Float64Array(sex.length);
  for (const side of [0, 1]) {
    const members = [...sex.keys()]
      .filter((i) => sex[i] === side)
      .sort((a, b) => (upper[a] as number) - (upper[b] as number) || a - b);
    let left = 0.5;
    members.forEach((i, at) => {
      shares[i] = Math.min(upper[i] as number, left / (members.length - at));
      left -= shares[i];
    });
  }
  return shares;
}

function refuseBadKinship(kinship: Float64Array, n: number): void {
  if (kinship.length !== n * n) throw new RangeError(`kinship has ${kinship.length} numbers, but n × n is ${n * n}`);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      const f = kinship[i * n + j] as number;
      const mirrored = kinship[j * n + i] as number;
      if (!Number.isFinite(f) || !Number.isFinite(mirrored)) {
        throw new RangeError(`kinship of ${i} and ${j} is not a finite number`);
      }
      if (Math.abs(f - mirrored) > 1e-12) throw new RangeError(`kinship is not symmetric at ${i} and ${j}`);
    }
  }
}

function upperLimits({ sex, upper }: ContributionProblem): Float64Array {
  const n = sex.length;
  if (upper !== undefined && upper.length !== n) {
    throw new RangeError(`upper has ${upper.length} numbers, but ${n} are needed`);
  }
  const sums = [0, 0];
  const count = [0, 0];
  const limits = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const side = sex[i] as number;
    if (side !== 0 && side !== 1) throw new RangeError(`sex ${i} is ${side}: 0 (male) or 1 (female) is needed`);
    const limit = upper?.[i] ?? 0.5;
    if (!(limit >= 0)) throw new RangeError(`upper ${i} is ${limit}: 0 or more is needed`);
    limits[i] = Math.min(limit, 0.5);
    sums[side] = (sums[side] as number) + (limits[i] as number);
    count[side] = (count[side] as number) + 1;
  }
  for (const [side, name] of ['males', 'females'].entries()) {
    if (count[side] === 0) throw new RangeError(`there are no ${name}`);
    if ((sums[side] as number) < 0.5 - 1e-12)
      throw new RangeError(`the upper limits of the ${name} sum to less than 1/2`);
  }
  return limits;
}
