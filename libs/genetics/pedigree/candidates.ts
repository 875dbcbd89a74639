import { UNKNOWN, type Candidates } from './pedigree.js';

/** One animal that may be the parent, and how likely it is: above 0, at most 1. */
export interface Candidate {
  readonly parent: number;
  readonly probability: number;
}

/** How far the probabilities of one list may be from summing to 1. */
const SUM_TOLERANCE = 1e-9;

/**
 * Packs candidate lists, one list an animal, for {@link sortPedigree}, which checks them.
 *
 * @param n     number of animals of the pedigree
 * @param lists candidates by the number of the animal whose parent they may be; animals without a list have none
 * @throws RangeError when a list stands under a number outside 0 … n − 1
 */
export function packCandidates(n: number, lists: ReadonlyMap<number, readonly Candidate[]>): Candidates {
  const start = new Int32Array(n + 1);
  for (const [animal, list] of lists) {
    if (!Number.isInteger(animal) || animal < 0 || animal >= n)
      throw new RangeError(`candidates are given for animal ${animal}, outside 0 … ${n - 1}`);
    start[animal + 1] = list.length;
  }
  for (let i = 0; i < n; i++) start[i + 1] = (start[i + 1] as number) + (start[i] as number);
  const total = start[n] as number;
  const parent = new Int32Array(total);
  const probability = new Float64Array(total);
  for (const [animal, list] of lists) {
    const first = start[animal] as number;
    list.forEach((candidate, k) => {
      parent[first + k] = candidate.parent;
      probability[first + k] = candidate.probability;
    });
  }
  return { start, parent, probability };
}

/** Number of candidates that stand for one parent of an animal; 0 where the parent is certain or not known. */
export function candidateCount(candidates: Candidates | undefined, animal: number): number {
  if (candidates === undefined) return 0;
  return (candidates.start[animal + 1] as number) - (candidates.start[animal] as number);
}

/** Whether anything is recorded of one parent of an animal: a certain parent or candidates. */
export function hasParent(certain: Int32Array, candidates: Candidates | undefined, animal: number): boolean {
  return (certain[animal] as number) !== UNKNOWN || candidateCount(candidates, animal) > 0;
}

/**
 * The value of a parent: its own where it is certain, the mean over the candidates weighted by their probabilities, and
 * 0 where nothing is known of it.
 */
export function parentValue(
  values: Float64Array,
  certain: Int32Array,
  candidates: Candidates | undefined,
  animal: number,
): number {
  const parent = certain[animal] as number;
  if (parent !== UNKNOWN) return values[parent] as number;
  if (candidates === undefined) return 0;
  const { start, parent: possible, probability } = candidates;
  const end = start[animal + 1] as number;
  let mean = 0;
  for (let k = start[animal] as number; k < end; k++)
    mean += (probability[k] as number) * (values[possible[k] as number] as number);
  return mean;
}

/** Hands an amount to a parent: all of it where it is certain, to each candidate its share, to nobody where unknown. */
export function addToParent(
  values: Float64Array,
  certain: Int32Array,
  candidates: Candidates | undefined,
  animal: number,
  amount: number,
): void {
  const parent = certain[animal] as number;
  if (parent !== UNKNOWN) {
    values[parent] = (values[parent] as number) + amount;
    return;
  }
  if (candidates === undefined) return;
  const { start, parent: possible, probability } = candidates;
  const end = start[animal + 1] as number;
  for (let k = start[animal] as number; k < end; k++) {
    const candidate = possible[k] as number;
    values[candidate] = (values[candidate] as number) + amount * (probability[k] as number);
  }
}

/**
 * Checks candidate lists against the certain parents of the same side. O(n + candidates).
 *
 * @throws RangeError that names the animal when its certain parent is given too, or a candidate is out of range or stands
 *   twice, a probability is outside (0, 1], or the probabilities do not sum to 1; and when the packing itself is broken
 */
export function checkCandidates(
  side: 'sire' | 'dam',
  certain: Int32Array,
  { start, parent, probability }: Candidates,
): void {
  const n = certain.length;
  const total = start.length === n + 1 ? (start[n] as number) : -1;
  if (start[0] !== 0 || total !== parent.length || total !== probability.length)
    throw new RangeError(`the ${side} candidates are not packed for ${n} animals: use packCandidates`);
  const lastSeenFor = new Int32Array(n).fill(-1);
  for (let i = 0; i < n; i++) {
    const first = start[i] as number;
    const end = start[i + 1] as number;
    if (end < first) throw new RangeError(`the ${side} candidates are not packed for ${n} animals: use packCandidates`);
    if (end === first) continue;
    const refuse = (why: string): never => {
      throw new RangeError(`animal ${i} ${why}`);
    };
    if ((certain[i] as number) !== UNKNOWN) refuse(`has the certain ${side} ${certain[i]} and ${side} candidates too`);
    let sum = 0;
    for (let k = first; k < end; k++) {
      const candidate = parent[k] as number;
      const p = probability[k] as number;
      if (candidate < 0 || candidate >= n)
        refuse(
          `has the ${side} candidate ${candidate}, outside 0 … ${n - 1}; give an unknown animal a number of its own`,
        );
      if (lastSeenFor[candidate] === i) refuse(`has the ${side} candidate ${candidate} twice`);
      lastSeenFor[candidate] = i;
      if (!(p > 0 && p <= 1)) refuse(`has the ${side} candidate ${candidate} with probability ${p}, outside (0, 1]`);
      sum += p;
    }
    if (Math.abs(sum - 1) > SUM_TOLERANCE) refuse(`has ${side} candidates whose probabilities sum to ${sum}, not 1`);
  }
}

/**
 * Makes a list of one candidate, who then has probability 1, a certain parent. The arrays given stay as they are.
 *
 * @returns the parents and what is left of the candidates, undefined where none are left
 */
export function settleSingleCandidates(
  certain: Int32Array,
  candidates: Candidates | undefined,
): readonly [certain: Int32Array, candidates: Candidates | undefined] {
  if (candidates === undefined || candidates.parent.length === 0) return [certain, undefined];
  const n = certain.length;
  const { start, parent, probability } = candidates;
  let singles = 0;
  for (let i = 0; i < n; i++) if (candidateCount(candidates, i) === 1) singles++;
  if (singles === 0) return [certain, candidates];
  const settled = certain.slice();
  const left = parent.length - singles;
  const packed = { start: new Int32Array(n + 1), parent: new Int32Array(left), probability: new Float64Array(left) };
  let at = 0;
  for (let i = 0; i < n; i++) {
    const first = start[i] as number;
    const end = start[i + 1] as number;
    if (end - first === 1) settled[i] = parent[first] as number;
    else
      for (let k = first; k < end; k++) {
        packed.parent[at] = parent[k] as number;
        packed.probability[at++] = probability[k] as number;
      }
    packed.start[i + 1] = at;
  }
  return [settled, left > 0 ? packed : undefined];
}
