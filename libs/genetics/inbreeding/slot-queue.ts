import type { ParentPedigree } from './parent-pedigree.js';

/**
 * A set of slots that gives them back from the highest to the lowest: one bit a slot in `bits`, and in `filled` one bit a
 * word of `bits` that is not 0. In place of sorting; the next slot is found by counting leading zeros. Slot 0 is not for it.
 */
export interface SlotQueue {
  readonly bits: Int32Array;
  readonly filled: Int32Array;
}

/** An empty queue with room for slots up to `count`, about one bit each. */
export function slotQueue(count: number): SlotQueue {
  const words = (count >>> 5) + 1;
  return { bits: new Int32Array(words), filled: new Int32Array((words >>> 5) + 1) };
}

/** Puts a slot in; one that is there already stays once. */
export function addToQueue({ bits, filled }: SlotQueue, slot: number): void {
  const word = slot >>> 5;
  bits[word] = (bits[word] as number) | (1 << slot); // a shift counts modulo 32
  filled[word >>> 5] = (filled[word >>> 5] as number) | (1 << word);
}

/**
 * Lists what is queued and all its ancestors down to the slot `oldest`, youngest first, and leaves the queue empty.
 *
 * @param youngest no slot in the queue is higher
 * @param list     takes the slots; room for all of the pedigree
 * @returns how many it found
 */
export function listAncestors(
  { sire, dam }: ParentPedigree,
  { bits, filled }: SlotQueue,
  youngest: number,
  oldest: number,
  list: Int32Array,
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
        list[size++] = slot;
        const s = sire[slot] as number;
        const m = dam[slot] as number;
        if (s >= oldest) {
          bits[s >>> 5] = (bits[s >>> 5] as number) | (1 << s);
          filled[s >>> 10] = (filled[s >>> 10] as number) | (1 << (s >>> 5));
        }
        if (m >= oldest) {
          bits[m >>> 5] = (bits[m >>> 5] as number) | (1 << m);
          filled[m >>> 10] = (filled[m >>> 10] as number) | (1 << (m >>> 5));
        }
      }
      filled[chunk] = (filled[chunk] as number) & ~(1 << inChunk);
    }
  }
  return size;
}
