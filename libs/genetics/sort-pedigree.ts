import { UNKNOWN, type Pedigree } from './pedigree.js';

/** Either a pedigree that can be computed with, or the loops that make it impossible. */
export type SortedPedigree =
  | { readonly kind: 'sorted'; readonly pedigree: Pedigree }
  | { readonly kind: 'cyclic'; readonly cycles: readonly (readonly number[])[] };

/** A tangled file can hold a loop for every row; past this many the list no longer helps anybody. */
const MOST_CYCLES_REPORTED = 50;

/**
 * Puts parents before their children, or reports the cycles.
 *
 * Depth-first search with its own stack: O(n) time and memory, so that a line of any number of generations is fine.
 * Animals that already stand after their parents keep their place relative to one another.
 *
 * A cycle is the list of animals in which each is a child of the next, and the last a child of the first; an animal
 * that is its own parent is a cycle of one. At least one cycle is found in each tangle, not every possible one, and at
 * most 50 in all.
 *
 * @param sire n parent numbers, −1 unknown
 * @param dam  n parent numbers, −1 unknown
 * @throws RangeError when the arrays differ in length or a parent number is outside −1 … n−1
 */
export function sortPedigree(sire: Int32Array, dam: Int32Array): SortedPedigree {
  const n = sire.length;
  checkParents(sire, dam);
  const order = new Int32Array(n);
  const step = new Uint8Array(n); // 0 not met; on the path: 1 sire next, 2 dam next, 3 both seen; 4 placed
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
      if (now === 3) {
        step[animal] = 4;
        order[placed++] = animal;
        depth--;
        continue;
      }
      step[animal] = now + 1;
      const parent = (now === 1 ? sire[animal] : dam[animal]) as number;
      if (parent === UNKNOWN) continue;
      const met = step[parent] as number;
      if (met === 0) {
        step[parent] = 1;
        path[depth++] = parent;
      } else if (met !== 4 && cycles.length < MOST_CYCLES_REPORTED) {
        cycles.push([...path.subarray(path.lastIndexOf(parent, depth - 1), depth)]);
      }
    }
  }
  return cycles.length > 0 ? { kind: 'cyclic', cycles } : { kind: 'sorted', pedigree: { sire, dam, order } };
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
