import { sharedCopy, withRoomFor } from './shared-memory.core.js';

/** Ids of animals by their number in a pedigree. */
export interface AnimalList {
  readonly length: number;
  /** Id of the animal of a number; undefined outside 0 … length − 1. */
  at(index: number): string | undefined;
}

/** Numbers of animals by their id. */
export interface AnimalNumbers {
  /** Number of an animal, or of the record that it goes on in; undefined when it is not in the pedigree. */
  get(id: string): number | undefined;
}

/** What a table of ids is made of: memory that threads can share. */
export type IdTableParts = {
  /** Four words an id. */
  readonly words: Uint32Array;
  /** Open addressing: place + 1, or 0 where free. Its length is a power of two. */
  readonly slots: Int32Array;
  readonly size: number;
};

const WORDS = 4;
/** Slots for each place at least: probes stay short below two thirds full. */
const SLOTS_A_PLACE = 1.5;

/**
 * UUIDs by place and places by UUID in about 30 bytes an id, a tenth of what strings in a Map take. Ids are only ever added; who remembers a
 * size has a list that does not change.
 */
export class IdTable {
  private constructor(
    private words: Uint32Array,
    private slots: Int32Array,
    private count: number,
  ) {}

  /** An empty table with room for `capacity` ids; it grows when they are more. */
  static withRoom(capacity: number): IdTable {
    return new IdTable(sharedCopy(new Uint32Array(0), WORDS * capacity), freeSlots(capacity), 0);
  }

  static of({ words, slots, size }: IdTableParts): IdTable {
    return new IdTable(words, slots, size);
  }

  get parts(): IdTableParts {
    return { words: this.words, slots: this.slots, size: this.count };
  }

  get size(): number {
    return this.count;
  }

  /** Adds an id and gives its place, or the place it has. Throws RangeError for what is no UUID. */
  add(id: string): number {
    if (!parse(id)) throw new RangeError(`"${id}" is not a UUID.`);
    const slot = this.find();
    const taken = this.slots[slot] as number;
    if (taken !== 0) return taken - 1;
    const place = this.count++;
    this.words = withRoomFor(this.words, this.count * WORDS);
    this.words.set(parsed, place * WORDS);
    this.slots[slot] = place + 1;
    if (this.count * SLOTS_A_PLACE > this.slots.length) this.growSlots();
    return place;
  }

  /** Place of an id, or −1. */
  placeOf(id: string): number {
    return parse(id) ? (this.slots[this.find()] as number) - 1 : -1;
  }

  /** Id at a place below `size`. */
  idAt(place: number): string {
    const hex = Array.from(this.words.subarray(place * WORDS, (place + 1) * WORDS), (word) =>
      word.toString(16).padStart(8, '0'),
    ).join('');
    return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
  }

  /** The slot of the id last parsed: where it stands, or the free one where it would. */
  private find(): number {
    const mask = this.slots.length - 1;
    const { words } = this;
    for (let slot = hash(parsed, 0) & mask; ; slot = (slot + 1) & mask) {
      const place = (this.slots[slot] as number) - 1;
      if (place < 0) return slot;
      const at = place * WORDS;
      if (
        words[at + 3] === parsed[3] &&
        words[at + 2] === parsed[2] &&
        words[at + 1] === parsed[1] &&
        words[at] === parsed[0]
      )
        return slot;
    }
  }

  private growSlots(): void {
    const slots = freeSlots(2 * this.count);
    const mask = slots.length - 1;
    for (let place = 0; place < this.count; place++) {
      let slot = hash(this.words, place * WORDS) & mask;
      while (slots[slot] !== 0) slot = (slot + 1) & mask;
      slots[slot] = place + 1;
    }
    this.slots = slots;
  }
}

function freeSlots(capacity: number): Int32Array {
  return sharedCopy(new Int32Array(0), 2 ** Math.ceil(Math.log2(Math.max(8, capacity * SLOTS_A_PLACE))));
}

/** The id last parsed. One is enough: nothing is awaited between parsing and looking up. */
const parsed = new Uint32Array(WORDS);

/** Reads a UUID, hyphens at their places, into `parsed`; false for anything else. */
function parse(id: string): boolean {
  if (id.length !== 36) return false;
  let word = 0;
  let digits = 0;
  for (let at = 0; at < 36; at++) {
    const code = id.charCodeAt(at);
    if (at === 8 || at === 13 || at === 18 || at === 23) {
      if (code !== 45) return false;
      continue;
    }
    const digit = code <= 57 ? code - 48 : (code | 32) - 87;
    if (digit < 0 || digit > 15 || (code > 57 && digit < 10)) return false;
    word = (word << 4) | digit;
    if ((++digits & 7) === 0) parsed[(digits >> 3) - 1] = word;
  }
  return true;
}

/** Spreads ids that were made one after another, and so begin alike. */
function hash(words: Uint32Array, at: number): number {
  let h = Math.imul(words[at + 3] as number, 0x85ebca6b) ^ Math.imul(words[at + 2] as number, 0xc2b2ae35);
  h ^= Math.imul(words[at + 1] as number, 0x27d4eb2f) ^ (words[at] as number);
  h = Math.imul(h ^ (h >>> 16), 0x7feb352d);
  return h ^ (h >>> 15);
}
