/**
 * Parents of which several are possible, packed: the candidates of animal i stand at `start[i]` … `start[i + 1] − 1` in
 * `parent` and `probability`. An animal has none, or at least two whose probabilities are above 0 and sum to 1.
 */
export interface Candidates {
  /** n + 1 offsets. */
  readonly start: Int32Array;
  readonly parent: Int32Array;
  readonly probability: Float64Array;
}

/**
 * A pedigree on plain arrays, checked to be free of cycles.
 *
 * Animals are 0 … n−1 in the caller's own numbering; children may stand before their parents. `sire[i]` and `dam[i]`
 * hold the number of the parent, or −1 where it is not known or where several candidates stand in the lists beside them.
 * One animal may be both parents: selfing, or development without a sire.
 * `order` lists every animal once, each after its parents, candidates included.
 *
 * Build one with {@link sortPedigree}; every other function of this library takes it from there and answers in the
 * caller's numbering.
 */
export interface Pedigree {
  readonly sire: Int32Array;
  readonly dam: Int32Array;
  readonly order: Int32Array;
  readonly sireCandidates?: Candidates | undefined;
  readonly damCandidates?: Candidates | undefined;
}

/** The value of a parent that is not known. */
export const UNKNOWN = -1;
