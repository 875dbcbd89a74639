import { compareDays, type Day } from '../../kernel/index.js';

/** A time that one of the parents on record spent with another keeper on a breeding loan. */
export type ParentStay = {
  readonly role: 'sire' | 'dam';
  readonly parentId: string;
  readonly transferId: string;
  readonly borrowerId: string;
  readonly from: Day;
  /** The day it went on; null = it is there. */
  readonly to: Day | null;
  /** Whether the lender owned a share of it when the clutch was laid. */
  readonly lentThen: boolean;
  /** Of a dam: a mating there with the only sire on record. */
  readonly matedThere: boolean;
};

/** What tells whose loan a clutch belongs to. */
export type ClutchOrigin = {
  /** The last day on which it can have been laid. */
  readonly laid: Day;
  readonly keeperId: string;
  /** Every animal that can be its dam, and its sire, by the record. */
  readonly parents: Readonly<Record<'sire' | 'dam', readonly string[]>>;
  readonly stays: readonly ParentStay[];
};

/**
 * The loan of which the young of a clutch are, or null. Of a lent dam: it was laid, at the latest, while she was with the borrower,
 * or later after a mating there with the only sire on record. Of a lent sire: he is the only one on record, and the clutch is the
 * borrower's and was laid after he came, also once he has gone home: stored sperm is his. Where several animals can be the parent,
 * all of them must have been lent with that loan; the dam's loan goes before the sire's. What its lender had sold by then was lent
 * no more. Common practice, no published source.
 */
export function loanOfClutch(clutch: ClutchOrigin): string | null {
  return loanOf(clutch, 'dam') ?? loanOf(clutch, 'sire');
}

function loanOf({ laid, keeperId, parents, stays }: ClutchOrigin, role: 'sire' | 'dam'): string | null {
  const loans = parents[role].map((parentId) => {
    const begun = stays
      .filter((stay) => stay.parentId === parentId && stay.role === role && compareDays(stay.from, laid) <= 0)
      .toSorted((a, b) => compareDays(b.from, a.from));
    // Where she was when she laid comes before where she mated.
    const there = begun.find(({ to }) => to === null || compareDays(laid, to) < 0);
    const stay =
      role === 'dam'
        ? (there ?? begun.find(({ matedThere }) => matedThere))
        : begun.find(({ borrowerId }) => borrowerId === keeperId);
    return stay?.lentThen === true ? stay.transferId : null;
  });
  const [first = null] = loans;
  return loans.every((loan) => loan === first) ? first : null;
}
