import { candidateCount, checkCandidates, settleSingleCandidates } from './candidates.js';
import { UNKNOWN, type Candidates, type Pedigree } from './pedigree.js';

/** Either a pedigree that can be computed with, or the loops that make it impossible. */
export type SortedPedigree =
  | { readonly kind: 'sorted'; readonly pedigree: Pedigree }
  | { readonly kind: 'cyclic'; readonly cycles: readonly (readonly number[])[] };

/** A tangled file can hold a loop for every row; past this many the list no longer helps anybody. */
const MOST_CYCLES_REPORTED = 50;

/**
 * Puts parents before their children, or reports the cycles.
 *
 * Depth-first search with its own stack: O(n + candidates) time and memory, so that a line of any number of generations
 * is fine. Animals that already stand after their parents keep their place relative to one another.
 *
 * A cycle is the list of animals in which each is a child of the next, and the last a child of the first; an animal
 * that is its own parent is a cycle of one. A candidate counts as a parent here, however small its probability: where
 * A may be the parent of B, and B of A, the two claims cannot both stand. At least one cycle is found in each tangle, not
 * every possible one, and at most 50 in all.
 *
 * Where the lists name one candidate only, with probability 1, it becomes a certain parent of the pedigree returned.
 *
 * @param sire n parent numbers, −1 unknown
 * @param dam  n parent numbers, −1 unknown
 * @param sireCandidates possible sires of the animals whose sire is −1, packed by `packCandidates`; see {@link Candidates}
 * @param damCandidates  the same for dams
 * @throws RangeError when the arrays differ in length or a parent number is outside −1 … n−1; and, naming the animal, when
 *   a list stands beside a certain parent, has a candidate out of range or twice, or probabilities that are outside
 *   (0, 1] or do not sum to 1 within 1e-9
 */
export function sortPedigree(
  sire: Int32Array,
  dam: Int32Array,
  sireCandidates?: Candidates,
  damCandidates?: Candidates,
): SortedPedigree {
  checkParents(sire, dam);
  if (sireCandidates) checkCandidates('sire', sire, sireCandidates);
  if (damCandidates) checkCandidates('dam', dam, damCandidates);
  const [sires, possibleSires] = settleSingleCandidates(sire, sireCandidates);
  const [dams, possibleDams] = settleSingleCandidates(dam, damCandidates);
  const pedigree = { sire: sires, dam: dams, sireCandidates: possibleSires, damCandidates: possibleDams };
  const { order, cycles } = parentsFirst(pedigree);
  return cycles.length > 0 ? { kind: 'cyclic', cycles } : { kind: 'sorted', pedigree: { ...pedigree, order } };
}

function parentsFirst(pedigree: Omit<Pedigree, 'order'>): { order: Int32Array; cycles: number[][] } {
  const n = pedigree.sire.length;
  const order = new Int32Array(n);
  // 0 not met; on the path: 1 + the number of its parents already seen; PLACED
  const step = new Int32Array(n);
  const path = new Int32Array(n);
  const cycles: number[][] = [];
  let placed = 0;
  for (let start = 0; start < n; start++) {
    if (step[start] !== 0) continue;
    let depth = 1;
    path[0] = start;
    step[start] = 1;
    while (depth > 0) {
      const animal = path[depth - 1] as number;
      const now = step[animal] as number;
      const parent = possibleParent(pedigree, animal, now - 1);
      if (parent === NO_MORE) {
        step[animal] = PLACED;
        order[placed++] = animal;
        depth--;
        continue;
      }
      step[animal] = now + 1;
      if (parent === UNKNOWN) continue;
      const met = step[parent] as number;
      if (met === 0) {
        step[parent] = 1;
        path[depth++] = parent;
      } else if (met !== PLACED && cycles.length < MOST_CYCLES_REPORTED) {
        cycles.push([...path.subarray(path.lastIndexOf(parent, depth - 1), depth)]);
      }
    }
  }
  return { order, cycles };
}

const PLACED = -1;
const NO_MORE = -2;

/** The sire, the dam, the candidate sires and the candidate dams of an animal, one a position, then NO_MORE. */
function possibleParent(pedigree: Omit<Pedigree, 'order'>, animal: number, position: number): number {
  if (position === 0) return pedigree.sire[animal] as number;
  if (position === 1) return pedigree.dam[animal] as number;
  const { sireCandidates, damCandidates } = pedigree;
  const sires = candidateCount(sireCandidates, animal);
  if (sireCandidates && position - 2 < sires)
    return sireCandidates.parent[(sireCandidates.start[animal] as number) + position - 2] as number;
  const at = position - 2 - sires;
  if (!damCandidates || at >= candidateCount(damCandidates, animal)) return NO_MORE;
  return damCandidates.parent[(damCandidates.start[animal] as number) + at] as number;
}

function checkParents(sire: Int32Array, dam: Int32Array): void {
  const n = sire.length;
  if (dam.length !== n) throw new RangeError(`sire has ${n} animals, dam has ${dam.length}`);
  for (let i = 0; i < n; i++) {
    for (const parent of [sire[i] as number, dam[i] as number]) {
      if (parent < UNKNOWN || parent >= n)
        throw new RangeError(`animal ${i} has the parent ${parent}, outside -1 … ${n - 1}`);
    }
  }
}
