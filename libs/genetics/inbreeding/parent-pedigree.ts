import type { Pedigree } from '../pedigree/pedigree.js';

/**
 * The animals of a pedigree that have offspring, numbered 1 … count with parents before their children. Slot 0 stands
 * for every unknown parent, so that passes need no test for it. Animals without offspring never stand on a path between
 * two others; leaving them out shortens every pass.
 */
export interface ParentPedigree {
  readonly count: number;
  /** Slot of the sire of each slot; count + 1 numbers. */
  readonly sire: Int32Array;
  readonly dam: Int32Array;
  /** Slot of each animal, 0 for one without offspring; n numbers in the caller's numbering. */
  readonly slotOf: Int32Array;
  /** Slots of generation g run from `generationStart[g]` to `generationStart[g + 1]` − 1; no parent stands in its own. */
  readonly generationStart: Int32Array;
}

/**
 * Numbers the parents of a pedigree by generation (the longest line to a founder), and within a generation by their own
 * younger parent, so that siblings and cousins stand together. O(n log n).
 */
export function numberParents(pedigree: Pedigree): ParentPedigree {
  const { sire: sireOf, dam: damOf, order } = pedigree;
  const slotOf = flagParents(pedigree);
  const { list, generationStart } = listByGeneration(pedigree, slotOf);
  const count = list.length;
  const sire = new Int32Array(count + 1);
  const dam = new Int32Array(count + 1);
  const slotOfParent = (parent: number): number => (parent < 0 ? 0 : (slotOf[parent] as number));
  const places = order.length + 1;
  for (let g = 0; g + 1 < generationStart.length; g++) {
    const first = generationStart[g] as number;
    const members = list.subarray(first - 1, (generationStart[g + 1] as number) - 1);
    const keys = new Float64Array(members.length);
    for (let k = 0; k < members.length; k++) {
      const i = members[k] as number;
      keys[k] = Math.max(slotOfParent(sireOf[i] as number), slotOfParent(damOf[i] as number)) * places + i;
    }
    keys.sort();
    for (let k = 0; k < keys.length; k++) {
      const i = (keys[k] as number) % places;
      const slot = first + k;
      slotOf[i] = slot;
      sire[slot] = slotOfParent(sireOf[i] as number);
      dam[slot] = slotOfParent(damOf[i] as number);
    }
  }
  return { count, sire, dam, slotOf, generationStart };
}

/** 1 for each animal that has offspring. */
function flagParents({ sire, dam }: Pedigree): Int32Array {
  const flags = new Int32Array(sire.length);
  for (let i = 0; i < sire.length; i++) {
    const s = sire[i] as number;
    const d = dam[i] as number;
    if (s >= 0) flags[s] = 1;
    if (d >= 0) flags[d] = 1;
  }
  return flags;
}

/** The flagged animals by generation; the first of generation g stands at `generationStart[g]` − 1 of the list. */
function listByGeneration({ sire, dam, order }: Pedigree, flags: Int32Array) {
  const generation = new Int32Array(order.length);
  let count = 0;
  let generations = 0;
  for (let k = 0; k < order.length; k++) {
    const i = order[k] as number;
    const s = sire[i] as number;
    const d = dam[i] as number;
    const bySire = s < 0 ? 0 : (generation[s] as number) + 1;
    const byDam = d < 0 ? 0 : (generation[d] as number) + 1;
    const own = bySire > byDam ? bySire : byDam;
    generation[i] = own;
    if (flags[i] === 0) continue;
    count++;
    if (own >= generations) generations = own + 1;
  }
  const generationStart = new Int32Array(generations + 1);
  for (let i = 0; i < flags.length; i++) {
    const next = (generation[i] as number) + 1;
    if (flags[i] === 1) generationStart[next] = (generationStart[next] as number) + 1;
  }
  generationStart[0] = 1;
  for (let g = 1; g <= generations; g++)
    generationStart[g] = (generationStart[g] as number) + (generationStart[g - 1] as number);
  const free = generationStart.slice();
  const list = new Int32Array(count);
  for (let i = 0; i < flags.length; i++) {
    if (flags[i] === 0) continue;
    const g = generation[i] as number;
    const at = free[g] as number;
    free[g] = at + 1;
    list[at - 1] = i;
  }
  return { list, generationStart };
}

/** Offspring with two known parents, listed by one of them: those of slot p stand at `start[p]` … `start[p + 1]` − 1. */
export interface OffspringByPivot {
  readonly start: Int32Array;
  /** Animal, in the caller's numbering. */
  readonly child: Int32Array;
  /** Slot of its other parent. */
  readonly mate: Int32Array;
}

/** Lists offspring by the parent of whichever sex has fewer parents, or by their younger parent. O(n). */
export function groupOffspring(
  { sire, dam }: Pedigree,
  { count, slotOf }: ParentPedigree,
  by: 'fewer' | 'younger',
): OffspringByPivot {
  const bySire = by === 'fewer' && distinctParents(sire, dam) <= distinctParents(dam, sire);
  const start = new Int32Array(count + 2);
  const pivotOf = new Int32Array(sire.length);
  for (let i = 0; i < sire.length; i++) {
    const s = sire[i] as number;
    const d = dam[i] as number;
    if (s < 0 || d < 0) continue;
    const bySlot = by === 'younger' ? Math.max(slotOf[s] as number, slotOf[d] as number) : slotOf[bySire ? s : d];
    const pivot = bySlot as number;
    pivotOf[i] = pivot;
    start[pivot + 1] = (start[pivot + 1] as number) + 1;
  }
  for (let slot = 1; slot < start.length; slot++) start[slot] = (start[slot] as number) + (start[slot - 1] as number);
  const total = start[count + 1] as number;
  const child = new Int32Array(total);
  const mate = new Int32Array(total);
  const free = start.slice();
  for (let i = 0; i < sire.length; i++) {
    const pivot = pivotOf[i] as number;
    if (pivot === 0) continue;
    const at = free[pivot] as number;
    free[pivot] = at + 1;
    child[at] = i;
    // One of the two is the pivot, so the difference leaves the other.
    mate[at] = (slotOf[sire[i] as number] as number) + (slotOf[dam[i] as number] as number) - pivot;
  }
  return { start, child, mate };
}

/** How many different animals stand in `parent` where the other parent is known too. */
function distinctParents(parent: Int32Array, other: Int32Array): number {
  const seen = new Uint8Array(parent.length);
  let distinct = 0;
  for (let i = 0; i < parent.length; i++) {
    const p = parent[i] as number;
    if (p < 0 || (other[i] as number) < 0 || seen[p] === 1) continue;
    seen[p] = 1;
    distinct++;
  }
  return distinct;
}
