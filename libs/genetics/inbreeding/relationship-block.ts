import type { OffspringByPivot, ParentPedigree } from './parent-pedigree.js';
import { addToQueue, listAncestors, type SlotQueue, slotQueue } from './slot-queue.js';

/** So many parents are worked on side by side. Four measured best over wide and deep pedigrees. */
export const BLOCK_WIDTH = 4;

/** The relationships of a few parents with their mates, one block of parents after another in the same memory. */
export interface RelationshipBlock {
  /**
   * Computes a block, which must have been cleared before.
   *
   * @param pivots slots, at most {@link BLOCK_WIDTH}; D of each and of its ancestors must be there
   */
  fill(pivots: readonly number[]): void;
  /** A between the pivot in this place of the block and one of its mates. */
  relationship(place: number, mate: number): number;
  /** Makes ready for the next block, at the cost of what was written. */
  clear(): void;
}

/**
 * Two passes over the ancestors concerned (Colleau 2002, Genet. Sel. Evol. 34:409): up, w = Tᵀe over the ancestors of
 * the pivots; down, A_j = ½(A_sire + A_dam) + D_j·w_j over the ancestors of their mates, in place. The numbers of a slot for
 * all pivots of the block stand side by side: ancestors that they have in common, which are most in a deep pedigree, are
 * looked up once, and so are those of their mates.
 *
 * @param sampling D by slot, filled by the caller as it goes
 */
export function relationshipBlock(
  parents: ParentPedigree,
  { start, mate }: OffspringByPivot,
  sampling: Float64Array,
): RelationshipBlock {
  const { count } = parents;
  const value = new Float64Array((count + 1) * BLOCK_WIDTH);
  const queue = slotQueue(count);
  const above = new Int32Array(count);
  const beside = new Int32Array(count);
  let sizeAbove = 0;
  let sizeBeside = 0;

  return {
    fill(pivots) {
      let youngest = 0;
      for (let place = 0; place < pivots.length; place++) {
        const pivot = pivots[place] as number;
        value[pivot * BLOCK_WIDTH + place] = 1;
        addToQueue(queue, pivot);
        if (pivot > youngest) youngest = pivot;
      }
      sizeAbove = passUp(parents, queue, youngest, value, above);
      const oldest = above[sizeAbove - 1] as number;
      let youngestMate = 0;
      for (let place = 0; place < pivots.length; place++) {
        const pivot = pivots[place] as number;
        const end = start[pivot + 1] as number;
        for (let k = start[pivot] as number; k < end; k++) {
          const other = mate[k] as number;
          if (other === pivot || other < oldest) continue;
          addToQueue(queue, other);
          if (other > youngestMate) youngestMate = other;
        }
      }
      sizeBeside = listAncestors(parents, queue, youngestMate, oldest, beside);
      passDown(parents, sampling, beside, sizeBeside, value);
    },
    relationship: (place, other) => value[other * BLOCK_WIDTH + place] as number,
    clear() {
      zero(value, above, sizeAbove);
      zero(value, beside, sizeBeside);
    },
  };
}

// The loops below and `listAncestors` are the time of the whole computation. They are functions of their own over plain
// arrays, with the queue written out in place, because that runs twice as fast as calls (measured).

/** Half of each weight goes to each parent; lists whom it reached, youngest first, and returns their number. */
function passUp(
  { sire, dam }: ParentPedigree,
  { bits, filled }: SlotQueue,
  youngest: number,
  value: Float64Array,
  above: Int32Array,
): number {
  let size = 0;
  for (let chunk = youngest >>> 10; chunk >= 0; chunk--) {
    let words: number;
    while ((words = filled[chunk] as number) !== 0) {
      const inChunk = 31 - Math.clz32(words);
      const word = (chunk << 5) | inChunk;
      let held: number;
      while ((held = bits[word] as number) !== 0) {
        const bit = 31 - Math.clz32(held);
        bits[word] = held ^ (1 << bit);
        const slot = (word << 5) | bit;
        above[size++] = slot;
        const k = slot * BLOCK_WIDTH;
        const a = 0.5 * (value[k] as number);
        const b = 0.5 * (value[k + 1] as number);
        const c = 0.5 * (value[k + 2] as number);
        const d = 0.5 * (value[k + 3] as number);
        const s = sire[slot] as number;
        const m = dam[slot] as number;
        if (s !== 0) {
          const to = s * BLOCK_WIDTH;
          value[to] = (value[to] as number) + a;
          value[to + 1] = (value[to + 1] as number) + b;
          value[to + 2] = (value[to + 2] as number) + c;
          value[to + 3] = (value[to + 3] as number) + d;
          bits[s >>> 5] = (bits[s >>> 5] as number) | (1 << s);
          filled[s >>> 10] = (filled[s >>> 10] as number) | (1 << (s >>> 5));
        }
        if (m !== 0) {
          const to = m * BLOCK_WIDTH;
          value[to] = (value[to] as number) + a;
          value[to + 1] = (value[to + 1] as number) + b;
          value[to + 2] = (value[to + 2] as number) + c;
          value[to + 3] = (value[to + 3] as number) + d;
          bits[m >>> 5] = (bits[m >>> 5] as number) | (1 << m);
          filled[m >>> 10] = (filled[m >>> 10] as number) | (1 << (m >>> 5));
        }
      }
      filled[chunk] = (filled[chunk] as number) & ~(1 << inChunk);
    }
  }
  return size;
}

function passDown(
  { sire, dam }: ParentPedigree,
  sampling: Float64Array,
  list: Int32Array,
  size: number,
  value: Float64Array,
): void {
  for (let at = size - 1; at >= 0; at--) {
    const slot = list[at] as number;
    const k = slot * BLOCK_WIDTH;
    const s = (sire[slot] as number) * BLOCK_WIDTH;
    const m = (dam[slot] as number) * BLOCK_WIDTH;
    const own = sampling[slot] as number;
    value[k] = 0.5 * ((value[s] as number) + (value[m] as number)) + own * (value[k] as number);
    value[k + 1] = 0.5 * ((value[s + 1] as number) + (value[m + 1] as number)) + own * (value[k + 1] as number);
    value[k + 2] = 0.5 * ((value[s + 2] as number) + (value[m + 2] as number)) + own * (value[k + 2] as number);
    value[k + 3] = 0.5 * ((value[s + 3] as number) + (value[m + 3] as number)) + own * (value[k + 3] as number);
  }
}

function zero(value: Float64Array, slots: Int32Array, size: number): void {
  for (let at = 0; at < size; at++) {
    const k = (slots[at] as number) * BLOCK_WIDTH;
    value[k] = value[k + 1] = value[k + 2] = value[k + 3] = 0;
  }
}
