import type { Pedigree } from '../pedigree/pedigree.js';
import { mendelianSampling } from './relationship.js';

/** Animals and all they come from, numbered 1 … count with parents before their children; 0 is the unknown parent. */
export interface Ancestors {
  readonly count: number;
  readonly sire: Int32Array;
  readonly dam: Int32Array;
  /** D of each. */
  readonly chance: Float64Array;
  /** Number of each animal, 0 for one that is not among them; n numbers. */
  readonly place: Int32Array;
}

/** Numbers some animals and their ancestors. O(n). */
export function numberAncestors(
  { sire, dam, order }: Pedigree,
  inbreeding: Float64Array,
  lists: readonly ArrayLike<number>[],
): Ancestors {
  const place = new Int32Array(order.length);
  for (const list of lists) for (let k = 0; k < list.length; k++) place[list[k] as number] = 1;
  let count = 0;
  for (let k = order.length - 1; k >= 0; k--) {
    const i = order[k] as number;
    if (place[i] === 0) continue;
    count++;
    const s = sire[i] as number;
    const d = dam[i] as number;
    if (s >= 0) place[s] = 1;
    if (d >= 0) place[d] = 1;
  }
  const ancestors = {
    count,
    sire: new Int32Array(count + 1),
    dam: new Int32Array(count + 1),
    chance: new Float64Array(count + 1),
    place,
  };
  let next = 1;
  for (let k = 0; k < order.length; k++) {
    const i = order[k] as number;
    if (place[i] === 0) continue;
    const s = sire[i] as number;
    const d = dam[i] as number;
    ancestors.sire[next] = s < 0 ? 0 : (place[s] as number);
    ancestors.dam[next] = d < 0 ? 0 : (place[d] as number);
    const fSire = s < 0 ? -1 : (inbreeding[s] as number);
    ancestors.chance[next] = mendelianSampling(fSire, d < 0 ? -1 : (inbreeding[d] as number));
    place[i] = next++;
  }
  return ancestors;
}
