/** Collects the ancestors of some animals, parents before children, as long as they are few. */
export interface AncestorWalk {
  /** What the last walk found, the animals themselves included; the first `size` entries count. */
  readonly found: Int32Array;
  /** Starts a new collection that gives up beyond `limit` animals and does not go below the slot `oldest`. */
  begin(limit: number, oldest: number): void;
  /** Adds an animal and its ancestors; false once the limit is passed (the collection is then of no use). */
  add(slot: number): boolean;
  /** Number of animals found. */
  size(): number;
}

/**
 * A walk over parent slots (0 = unknown parent). Depth first with its own stack, each ancestor visited once however many
 * paths lead to it. Memory 12 bytes a slot, kept from walk to walk.
 */
export function ancestorWalk(sire: Int32Array, dam: Int32Array): AncestorWalk {
  const found = new Int32Array(sire.length);
  const path = new Int32Array(sire.length);
  const seen = new Int32Array(sire.length);
  let round = 0;
  let size = 0;
  let met = 0;
  let limit = 0;
  let oldest = 1;

  const isNew = (slot: number): boolean => slot >= oldest && seen[slot] !== round;

  return {
    found,
    begin(newLimit, newOldest) {
      round++;
      size = 0;
      met = 0;
      limit = newLimit;
      oldest = newOldest;
    },
    add(slot) {
      if (!isNew(slot)) return true;
      let depth = 1;
      path[0] = slot;
      seen[slot] = round;
      if (++met > limit) return false;
      while (depth > 0) {
        const animal = path[depth - 1] as number;
        const s = sire[animal] as number;
        const d = dam[animal] as number;
        const next = isNew(s) ? s : isNew(d) ? d : 0;
        if (next === 0) {
          found[size++] = animal;
          depth--;
          continue;
        }
        if (++met > limit) return false;
        seen[next] = round;
        path[depth++] = next;
      }
      return true;
    },
    size: () => size,
  };
}
