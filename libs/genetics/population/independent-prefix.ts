import type { Pedigree } from '../pedigree/pedigree.js';

/**
 * Cuts a ranking of candidate ancestors before the first that is an ancestor or a descendant of one ranked above it.
 * A line ends at animals that are already chosen: nothing passes beyond them any more.
 *
 * Each animal is met once a ranking, so that a ranking costs O(n) at most.
 *
 * @param chosen 2n flags of the caller, read at each call: animals, then the unknown parents of half-known animals
 * @returns a function from candidates, best first (i = animal, n + i = unknown parent of i), to the leading part
 */
export function independentPrefix(
  { sire, dam }: Pedigree,
  chosen: Uint8Array,
): (ranked: readonly number[]) => number[] {
  const n = sire.length;
  const above = new Int32Array(n); // round in which the animal was met above one of the prefix
  const taken = new Int32Array(2 * n); // round in which the candidate entered the prefix
  const path = new Int32Array(n);
  let round = 0;

  /** Marks everything above an animal; false when one of the prefix stands there. */
  const walkUp = (animal: number): boolean => {
    let depth = 1;
    path[0] = animal;
    above[animal] = round;
    while (depth > 0) {
      const i = path[--depth] as number;
      if (taken[n + i] === round) return false;
      for (const parent of [sire[i] as number, dam[i] as number]) {
        if (parent < 0) continue;
        if (taken[parent] === round) return false;
        if (above[parent] === round || chosen[parent] === 1) continue;
        above[parent] = round;
        path[depth++] = parent;
      }
    }
    return true;
  };

  return (ranked) => {
    round++;
    const prefix: number[] = [];
    for (const candidate of ranked) {
      const animal = candidate < n ? candidate : candidate - n;
      if (above[animal] === round || taken[animal] === round) break;
      if (candidate < n && !walkUp(animal)) break;
      taken[candidate] = round;
      prefix.push(candidate);
    }
    return prefix;
  };
}
