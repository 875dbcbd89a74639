import { groupOffspring, type ParentPedigree } from './parent-pedigree.js';
import type { Pedigree } from '../pedigree/pedigree.js';

/** How long parents are needed while slots are gone through in order. */
export interface TimesInUse {
  /** For each slot the last one that needs it: a child that is a parent itself, or a mate; at least itself. */
  readonly last: Int32Array;
  /** How many are in use at once, at most. */
  readonly most: number;
}

/** Tells how many parents a sliding table of relationships must hold. O(n). */
export function timesInUse({ sire, dam }: Pedigree, parents: ParentPedigree): TimesInUse {
  const { count, slotOf } = parents;
  const last = new Int32Array(count + 1);
  const needed = (slot: number, until: number): void => {
    if (until > (last[slot] as number)) last[slot] = until;
  };
  for (let i = 0; i < sire.length; i++) {
    const s = sire[i] as number;
    const d = dam[i] as number;
    const own = slotOf[i] as number;
    const sireSlot = s < 0 ? 0 : (slotOf[s] as number);
    const damSlot = d < 0 ? 0 : (slotOf[d] as number);
    needed(own, own);
    needed(sireSlot, Math.max(own, damSlot));
    needed(damSlot, Math.max(own, sireSlot));
  }
  const leaving = new Int32Array(count + 1);
  for (let slot = 1; slot <= count; slot++) {
    const until = last[slot] as number;
    leaving[until] = (leaving[until] as number) + 1;
  }
  let most = 0;
  let inUse = 0;
  for (let slot = 1; slot <= count; slot++) {
    most = Math.max(most, ++inUse);
    inUse -= leaving[slot] as number;
  }
  return { last, most };
}

/**
 * F of all offspring by the tabular method (Emik & Terrill 1949, J. Hered. 40:51) over a sliding table: relationships
 * A_ij = ½(A_i,sire(j) + A_i,dam(j)) are kept among the parents in use only, and a place in the table is given on when its
 * owner has no child and no mate to come. Time: parents × places, so that long narrow lines cost next to nothing.
 *
 * @param use from {@link timesInUse}; the table has `most`² numbers
 * @param f   n zeros, filled in by animal
 */
export function inbreedingByTable(pedigree: Pedigree, parents: ParentPedigree, use: TimesInUse, f: Float64Array): void {
  const { count, sire, dam, slotOf } = parents;
  const { last, most } = use;
  const { start, child, mate } = groupOffspring(pedigree, parents, 'younger');
  const table = new Float64Array(most * most);
  const slotF = new Float64Array(count + 1);
  const place = new Int32Array(count + 1);
  // Slots that leave after the same slot are chained: the first of them, then the next after each.
  const firstLeaving = new Int32Array(count + 1);
  const nextLeaving = new Int32Array(count + 1);
  const free: number[] = [];
  let used = 0;

  for (let slot = 1; slot <= count; slot++) {
    const own = free.pop() ?? used++;
    place[slot] = own;
    const row = own * most;
    const s = sire[slot] as number;
    const d = dam[slot] as number;
    const sireRow = (place[s] as number) * most;
    const damRow = (place[d] as number) * most;
    const ofSire = s === 0 ? 0 : 0.5;
    const ofDam = d === 0 ? 0 : 0.5;
    for (let k = 0, mirror = own; k < used; k++, mirror += most) {
      const value = ofSire * (table[sireRow + k] as number) + ofDam * (table[damRow + k] as number);
      table[row + k] = value;
      table[mirror] = value;
    }
    table[row + own] = 1 + (slotF[slot] as number);
    const end = start[slot + 1] as number;
    for (let k = start[slot] as number; k < end; k++) {
      const animal = child[k] as number;
      const value = 0.5 * (table[row + (place[mate[k] as number] as number)] as number);
      f[animal] = value;
      slotF[slotOf[animal] as number] = value;
    }
    const until = last[slot] as number;
    nextLeaving[slot] = firstLeaving[until] as number;
    firstLeaving[until] = slot;
    for (let gone = firstLeaving[slot] as number; gone !== 0; gone = nextLeaving[gone] as number)
      free.push(place[gone] as number);
  }
}
