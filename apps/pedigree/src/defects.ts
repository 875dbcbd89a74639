/** What can be wrong with a pedigree file. */
export type DefectKind = 'cycle' | 'self_parent' | 'missing_row' | 'sex_conflict' | 'date_conflict' | 'duplicate_id';

/** One thing wrong, with the animals concerned and what to do about it. */
export interface Defect {
  readonly kind: DefectKind;
  /** Ids as written; for a cycle in order, each a child of the next and the last a child of the first. */
  readonly ids: readonly string[];
  readonly message: string;
  /** True when nothing can be computed before it is put right. */
  readonly refuses: boolean;
}
