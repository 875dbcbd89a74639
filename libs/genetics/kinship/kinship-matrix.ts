import { mendelianSamplings } from '../inbreeding/inbreeding-uncertain.js';
import { kinshipWithAll } from './kinship.js';
import { kinshipTable } from './kinship-table.js';
import { type Ancestors, numberAncestors } from './numbered-ancestors.js';
import type { Pedigree } from '../pedigree/pedigree.js';

/** So many columns are worked out side by side. */
const WIDTH = 4;

/** A table over all ancestors is faster than products while they are up to so many times the list (measured). */
const TABLE_SHARE = 1.5;

/**
 * Kinship of each animal of a list with each of the list. Where the list holds most of its own ancestors it comes out of a
 * table over all of them ({@link kinshipTable}), otherwise it is {@link kinshipBlock} with rows and columns the same.
 *
 * @returns k × k numbers, symmetric; (1 + F)/2 on the diagonal
 */
export function kinshipMatrix(
  pedigree: Pedigree,
  inbreeding: Float64Array,
  animals: ArrayLike<number>,
  sampling?: Float64Array,
): Float64Array {
  if (!pedigree.sireCandidates && !pedigree.damCandidates) {
    const ancestors = numberAncestors(pedigree, inbreeding, [animals]);
    if (ancestors.count <= TABLE_SHARE * animals.length) return fromTable(ancestors, animals);
  }
  return kinshipBlock(pedigree, inbreeding, animals, animals, sampling);
}

function fromTable(ancestors: Ancestors, animals: ArrayLike<number>): Float64Array {
  const { count, place } = ancestors;
  const table = kinshipTable(ancestors);
  const at = Int32Array.from(animals, (animal) => (place[animal] as number) - 1);
  const size = at.length;
  if (size === count && at.every((k, i) => k === i)) return table;
  const result = new Float64Array(size * size);
  for (let r = 0; r < size; r++) {
    const row = (at[r] as number) * count;
    for (let c = 0; c < size; c++) result[r * size + c] = table[row + (at[c] as number)] as number;
  }
  return result;
}

/**
 * Kinship of each animal of one list with each of another, f = ½A, as relationship products of unit vectors (Colleau 2002,
 * Genet. Sel. Evol. 34:409), four columns at a time over the ancestors of both lists only. Columns cost a product each, so
 * let the shorter list be the columns. Time O(n + ancestors × columns), memory of the answer and 56 bytes an ancestor.
 *
 * @param inbreeding F of each animal, from `inbreeding`
 * @param rows,columns animals; one may stand several times
 * @param sampling   see `relationshipProduct`; here it is computed once where it is needed and left out
 * @returns rows × columns numbers, row by row
 */
export function kinshipBlock(
  pedigree: Pedigree,
  inbreeding: Float64Array,
  rows: ArrayLike<number>,
  columns: ArrayLike<number>,
  sampling?: Float64Array,
): Float64Array {
  const result = new Float64Array(rows.length * columns.length);
  if (pedigree.sireCandidates || pedigree.damCandidates) {
    const known = sampling ?? mendelianSamplings(pedigree, inbreeding);
    for (let c = 0; c < columns.length; c++) {
      const kinships = kinshipWithAll(pedigree, inbreeding, columns[c] as number, known);
      for (let r = 0; r < rows.length; r++) result[r * columns.length + c] = kinships[rows[r] as number] as number;
    }
    return result;
  }
  const ancestors = numberAncestors(pedigree, inbreeding, [rows, columns]);
  const placeOf = (animal: number): number => ancestors.place[animal] as number;
  const rowPlaces = Int32Array.from(rows, placeOf);
  const columnPlaces = Int32Array.from(columns, placeOf);
  const youngest = rowPlaces.reduce((most, place) => Math.max(most, place), 0);
  const value = new Float64Array((ancestors.count + 1) * WIDTH);
  for (let first = 0; first < columns.length; first += WIDTH) {
    const some = columnPlaces.subarray(first, first + WIDTH);
    product(ancestors, some, youngest, value);
    for (let r = 0; r < rowPlaces.length; r++) {
      const from = (rowPlaces[r] as number) * WIDTH;
      const to = r * columns.length + first;
      for (let k = 0; k < some.length; k++) result[to + k] = value[from + k] as number;
    }
  }
  return result;
}

/** Kinships of up to four animals with all numbers up to `youngest`, side by side in `value`. */
function product({ sire, dam, chance }: Ancestors, some: Int32Array, youngest: number, value: Float64Array): void {
  let start = 0;
  for (let k = 0; k < some.length; k++) start = Math.max(start, some[k] as number);
  value.fill(0, 0, (Math.max(start, youngest) + 1) * WIDTH);
  for (let k = 0; k < some.length; k++) value[(some[k] as number) * WIDTH + k] = 0.5;
  for (let i = start; i > 0; i--) {
    const at = i * WIDTH;
    const a = 0.5 * (value[at] as number);
    const b = 0.5 * (value[at + 1] as number);
    const c = 0.5 * (value[at + 2] as number);
    const d = 0.5 * (value[at + 3] as number);
    if (a === 0 && b === 0 && c === 0 && d === 0) continue;
    const s = (sire[i] as number) * WIDTH;
    value[s] = (value[s] as number) + a;
    value[s + 1] = (value[s + 1] as number) + b;
    value[s + 2] = (value[s + 2] as number) + c;
    value[s + 3] = (value[s + 3] as number) + d;
    const m = (dam[i] as number) * WIDTH;
    value[m] = (value[m] as number) + a;
    value[m + 1] = (value[m + 1] as number) + b;
    value[m + 2] = (value[m + 2] as number) + c;
    value[m + 3] = (value[m + 3] as number) + d;
  }
  value.fill(0, 0, WIDTH);
  for (let i = 1; i <= youngest; i++) {
    const at = i * WIDTH;
    const s = (sire[i] as number) * WIDTH;
    const m = (dam[i] as number) * WIDTH;
    const own = chance[i] as number;
    value[at] = 0.5 * ((value[s] as number) + (value[m] as number)) + own * (value[at] as number);
    value[at + 1] = 0.5 * ((value[s + 1] as number) + (value[m + 1] as number)) + own * (value[at + 1] as number);
    value[at + 2] = 0.5 * ((value[s + 2] as number) + (value[m + 2] as number)) + own * (value[at + 2] as number);
    value[at + 3] = 0.5 * ((value[s + 3] as number) + (value[m + 3] as number)) + own * (value[at + 3] as number);
  }
}
