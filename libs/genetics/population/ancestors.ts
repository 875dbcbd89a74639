import { groupSize } from '../kinship/kinship.js';
import { independentPrefix } from './independent-prefix.js';
import type { Pedigree } from '../pedigree/pedigree.js';

/** Below this a contribution is rounding, not ancestry. */
const SMALLEST_GAIN = 1e-14;

/** Candidates within this share of the best one are looked at in one round. */
const ROUND_SHARE = 0.7;

/**
 * Effective number of ancestors fa = 1/Σp², with the marginal contributions p of Boichard, Maignel & Verrier 1997
 * (Genet. Sel. Evol. 29:5): so many ancestors contributing equally would explain the group as narrowly. Unlike founder
 * equivalents it sees bottlenecks.
 *
 * Ancestors are chosen one after another by marginal contribution p = q·(1 − a): q is what reaches the animal from the
 * group when nothing passes beyond those already chosen, a the share of its own genes that comes from those already
 * chosen. It ends when everything is explained.
 *
 * Choices that change the number: members of the group may themselves be ancestors; the unknown parent of a half-known
 * animal may be chosen like a founder; on equal contributions a founder comes before an animal with parents, and
 * otherwise the one that stands first in the order of the pedigree.
 *
 * Contributions only ever fall as others are chosen, and a choice changes those of its own ancestors and descendants
 * only. So all leading candidates that are not in line with one another are chosen in the same round, O(n) a round.
 *
 * @param group n flags, 1 = member; at least one
 * @throws RangeError where parents have candidates: no published definition covers them
 */
export function effectiveAncestors(pedigree: Pedigree, group: Uint8Array): number {
  if (pedigree.sireCandidates || pedigree.damCandidates)
    throw new RangeError('effective ancestors are defined for certain parents only: leave candidates out');
  const { sire, dam } = pedigree;
  const n = pedigree.order.length;
  const share = 1 / groupSize(group);
  // A candidate below n is an animal; n + i is the unknown parent of the half-known animal i.
  const chosen = new Uint8Array(2 * n);
  const explained = new Float64Array(n);
  const gain = new Float64Array(2 * n);
  const q = new Float64Array(n);
  passUp(pedigree, pedigree.order, group, share, chosen, q);
  const line = pedigree.order.filter((i) => (q[i] as number) > 0);
  const mayFollow = independentPrefix(pedigree, chosen);
  let squares = 0;

  for (;;) {
    passUp(pedigree, line, group, share, chosen, q);
    let best = 0;
    for (const i of line) {
      const s = sire[i] as number;
      const d = dam[i] as number;
      const isFounder = s < 0 && d < 0;
      const fromSire = s < 0 ? (chosen[n + i] as number) : (explained[s] as number);
      const fromDam = d < 0 ? (chosen[n + i] as number) : (explained[d] as number);
      const a = chosen[i] === 1 ? 1 : isFounder ? 0 : 0.5 * (fromSire + fromDam);
      explained[i] = a;
      gain[i] = (q[i] as number) * (1 - a);
      const isHalfKnown = s < 0 !== d < 0 && chosen[i] === 0 && chosen[n + i] === 0;
      gain[n + i] = isHalfKnown ? 0.5 * (q[i] as number) : 0;
      best = Math.max(best, gain[i], gain[n + i] as number);
    }
    if (best <= SMALLEST_GAIN) return 1 / squares;
    for (const candidate of mayFollow(leading(line, gain, pedigree, ROUND_SHARE * best))) {
      chosen[candidate] = 1;
      squares += (gain[candidate] as number) ** 2;
    }
  }
}

/** Candidates with at least the given contribution, largest first, founders first among equals, then by place. */
function leading(line: Int32Array, gain: Float64Array, { sire, dam }: Pedigree, least: number): number[] {
  const n = sire.length;
  const founders: number[] = [];
  const others: number[] = [];
  for (const i of line) {
    if ((gain[n + i] as number) >= least) founders.push(n + i);
    if ((gain[i] as number) < least) continue;
    if ((sire[i] as number) < 0 && (dam[i] as number) < 0) founders.push(i);
    else others.push(i);
  }
  return [...founders, ...others].sort((a, b) => (gain[b] as number) - (gain[a] as number)); // a stable sort
}

/** What reaches each animal from the group, half to each parent, when nothing passes beyond the chosen animals. */
function passUp(
  { sire, dam }: Pedigree,
  line: Int32Array,
  group: Uint8Array,
  share: number,
  chosen: Uint8Array,
  q: Float64Array,
): void {
  for (let i = 0; i < q.length; i++) q[i] = group[i] ? share : 0;
  for (let k = line.length - 1; k >= 0; k--) {
    const i = line[k] as number;
    const half = 0.5 * (q[i] as number);
    if (half === 0 || chosen[i] === 1) continue;
    const s = sire[i] as number;
    const d = dam[i] as number;
    if (s >= 0) q[s] = (q[s] as number) + half;
    if (d >= 0) q[d] = (q[d] as number) + half;
  }
}
