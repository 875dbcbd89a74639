import type { Pedigree } from './pedigree.js';

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
}

/** Numbers the parents of a pedigree. O(n). */
export function numberParents(pedigree: Pedigree): ParentPedigree {
  const { order } = pedigree;
  const n = order.length;
  const slotOf = new Int32Array(n);
  for (let i = 0; i < n; i++) {
    const s = pedigree.sire[i] as number;
    const d = pedigree.dam[i] as number;
    if (s >= 0) slotOf[s] = 1;
    if (d >= 0) slotOf[d] = 1;
  }
  let count = 0;
  for (const i of order) if (slotOf[i] === 1) slotOf[i] = ++count;
  const sire = new Int32Array(count + 1);
  const dam = new Int32Array(count + 1);
  for (const i of order) {
    const slot = slotOf[i] as number;
    if (slot === 0) continue;
    const s = pedigree.sire[i] as number;
    const d = pedigree.dam[i] as number;
    if (s >= 0) sire[slot] = slotOf[s] as number;
    if (d >= 0) dam[slot] = slotOf[d] as number;
  }
  return { count, sire, dam, slotOf };
}

/** Offspring with two known parents, listed by one of them: those of slot p stand at `start[p]` … `start[p + 1]` − 1. */
export interface OffspringByPivot {
  readonly start: Int32Array;
  /** Animal, in the caller's numbering. */
  readonly child: Int32Array;
  /** Slot of its other parent. */
  readonly mate: Int32Array;
}

/** Lists offspring by sire or by dam, whichever sex has fewer parents. O(n). */
export function groupOffspring(pedigree: Pedigree, parents: ParentPedigree): OffspringByPivot {
  const { count, slotOf } = parents;
  const { sire, dam } = pedigree;
  const bySire = distinctParents(sire, dam) <= distinctParents(dam, sire);
  const pivotOf = bySire ? sire : dam;
  const mateOf = bySire ? dam : sire;
  const start = new Int32Array(count + 2);
  let total = 0;
  for (let i = 0; i < sire.length; i++) {
    const pivot = pivotOf[i] as number;
    if (pivot < 0 || (mateOf[i] as number) < 0) continue;
    const next = (slotOf[pivot] as number) + 1;
    start[next] = (start[next] as number) + 1;
    total++;
  }
  for (let slot = 1; slot < start.length; slot++) start[slot] = (start[slot] as number) + (start[slot - 1] as number);
  const child = new Int32Array(total);
  const mate = new Int32Array(total);
  const free = start.slice();
  for (let i = 0; i < sire.length; i++) {
    const pivot = pivotOf[i] as number;
    const other = mateOf[i] as number;
    if (pivot < 0 || other < 0) continue;
    const slot = slotOf[pivot] as number;
    const at = free[slot] as number;
    free[slot] = at + 1;
    child[at] = i;
    mate[at] = slotOf[other] as number;
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
