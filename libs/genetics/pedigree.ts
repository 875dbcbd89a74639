/**
 * A pedigree on plain arrays, checked to be free of cycles.
 *
 * Animals are 0 … n−1 in the caller's own numbering; children may stand before their parents. `sire[i]` and `dam[i]`
 * hold the number of the parent, or −1 where it is not known. One animal may be both parents (selfing).
 * `order` lists every animal once, each after both of its parents.
 *
 * Build one with {@link sortPedigree}; every other function of this library takes it from there and answers in the
 * caller's numbering.
 */
export interface Pedigree {
  readonly sire: Int32Array;
  readonly dam: Int32Array;
  readonly order: Int32Array;
}

/** The value of a parent that is not known. */
export const UNKNOWN = -1;
