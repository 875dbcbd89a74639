import { hasParent } from '../pedigree/candidates.js';
import { groupSize } from '../kinship/kinship.js';
import type { Candidates, Pedigree } from '../pedigree/pedigree.js';
import type { Random } from './random.js';

/** A mean over gene drops and its standard error, each an array of n numbers. */
export interface DropMean {
  readonly mean: Float64Array;
  readonly standardError: Float64Array;
}

/** What some gene drops showed of a reference group. */
export interface GeneDrop {
  readonly drops: number;
  /**
   * Retention of each founder: the share of its two genes of which the group holds a copy (MacCluer et al. 1986). 0 for
   * animals with two known parents. At a half-known animal stands the retention of its unknown parent, which has no other
   * offspring and so at most ½.
   */
  readonly retention: DropMean;
  /** How often both genes of an animal were copies of the same one: F in expectation. */
  readonly inbreeding: DropMean;
  /** 1 − Σ of the squared frequencies of the genes in the group: gene diversity in expectation. */
  readonly geneDiversity: { readonly mean: number; readonly standardError: number };
  /** Number of different founder genes in the group. */
  readonly distinctGenes: { readonly mean: number; readonly standardError: number };
}

/**
 * One gene drop: founders get two genes of their own, every other animal one at random from each parent (MacCluer, VandeBerg,
 * Read & Ryder 1986, Zoo Biol. 5:147). An unknown parent passes on a gene that nobody else has. Where a parent has
 * candidates one is drawn by probability, for each animal and side anew.
 *
 * @param genes receives 2n numbers: at 2i the gene of animal i from its sire, at 2i + 1 that from its dam. A gene bears the
 *   number of the place where it entered the pedigree
 */
export function dropGenes(pedigree: Pedigree, random: Random, genes: Int32Array): void {
  const { sire, dam, order, sireCandidates, damCandidates } = pedigree;
  for (let k = 0; k < order.length; k++) {
    const i = order[k] as number;
    const s = drawParent(sire, sireCandidates, i, random);
    const d = drawParent(dam, damCandidates, i, random);
    genes[2 * i] = s < 0 ? 2 * i : (genes[2 * s + (random() < 0.5 ? 0 : 1)] as number);
    genes[2 * i + 1] = d < 0 ? 2 * i + 1 : (genes[2 * d + (random() < 0.5 ? 0 : 1)] as number);
  }
}

/**
 * Drops genes many times and says what became of them: which founders' genes a group holds, and how inbreeding and gene
 * diversity scatter. The exact means of the latter two are `inbreeding` and 1 − mean kinship.
 *
 * The same seed gives the same answer. O(drops · n) time, memory for one drop.
 *
 * @param group  n flags, 1 = member; at least one
 * @param drops  how many, at least 2
 * @param random uniform numbers, from `seededRandom`
 * @throws RangeError when nobody is a member or fewer than 2 drops are asked for
 */
export function geneDrop(pedigree: Pedigree, group: Uint8Array, drops: number, random: Random): GeneDrop {
  if (!Number.isInteger(drops) || drops < 2) throw new RangeError(`${drops} gene drops: at least 2 are needed`);
  const n = pedigree.order.length;
  const size = groupSize(group);
  const genes = new Int32Array(2 * n);
  const copies = new Int32Array(2 * n);
  const sums = { retention: new Float64Array(n), retentionSquares: new Float64Array(n), inbred: new Float64Array(n) };
  const diversity = runningMean();
  const distinct = runningMean();
  const place = genePlaces(pedigree);

  for (let drop = 0; drop < drops; drop++) {
    dropGenes(pedigree, random, genes);
    copies.fill(0);
    for (let i = 0; i < n; i++) {
      if (genes[2 * i] === genes[2 * i + 1]) sums.inbred[i] = (sums.inbred[i] as number) + 1;
      if (!group[i]) continue;
      for (const gene of [genes[2 * i] as number, genes[2 * i + 1] as number])
        copies[gene] = (copies[gene] as number) + 1;
    }
    let squares = 0;
    let kinds = 0;
    for (let i = 0; i < n; i++) {
      if (place[i] === 0) continue;
      const first = copies[2 * i] as number;
      const second = copies[2 * i + 1] as number;
      const kept = (first > 0 ? 1 : 0) + (second > 0 ? 1 : 0);
      if (kept === 0) continue;
      kinds += kept;
      squares += first * first + second * second;
      sums.retention[i] = (sums.retention[i] as number) + kept / 2;
      sums.retentionSquares[i] = (sums.retentionSquares[i] as number) + (kept / 2) ** 2;
    }
    diversity.add(1 - squares / (4 * size * size));
    distinct.add(kinds);
  }
  return {
    drops,
    retention: meanOf(sums.retention, sums.retentionSquares, drops),
    inbreeding: meanOf(sums.inbred, sums.inbred, drops), // of zeros and ones: the squares are the values
    geneDiversity: diversity.result(),
    distinctGenes: distinct.result(),
  };
}

/** 1 for each animal at which genes enter the pedigree: founders and half-known animals. */
function genePlaces({ sire, dam, sireCandidates, damCandidates }: Pedigree): Uint8Array {
  return Uint8Array.from(sire, (_, i) =>
    hasParent(sire, sireCandidates, i) && hasParent(dam, damCandidates, i) ? 0 : 1,
  );
}

function drawParent(certain: Int32Array, candidates: Candidates | undefined, animal: number, random: Random): number {
  const parent = certain[animal] as number;
  if (parent >= 0 || !candidates) return parent;
  const first = candidates.start[animal] as number;
  const last = (candidates.start[animal + 1] as number) - 1;
  if (last < first) return parent;
  let left = random();
  for (let k = first; k < last; k++) {
    left -= candidates.probability[k] as number;
    if (left < 0) return candidates.parent[k] as number;
  }
  return candidates.parent[last] as number;
}

function meanOf(sums: Float64Array, squares: Float64Array, drops: number): DropMean {
  const mean = sums.map((sum) => sum / drops);
  const standardError = mean.map((m, i) =>
    Math.sqrt(Math.max(0, (squares[i] as number) / drops - m * m) / (drops - 1)),
  );
  return { mean, standardError };
}

function runningMean() {
  let [count, mean, deviations] = [0, 0, 0];
  return {
    /** Welford 1962, Technometrics 4:419. */
    add(value: number): void {
      const before = value - mean;
      mean += before / ++count;
      deviations += before * (value - mean);
    },
    result: () => ({ mean, standardError: Math.sqrt(deviations / (count - 1) / count) }),
  };
}
