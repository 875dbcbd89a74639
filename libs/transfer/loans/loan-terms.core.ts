import { type Decision, refuse } from '../../kernel/index.js';

/** The two sides of a breeding loan: the giver of its transfer lends, the receiver borrows. */
export const LOAN_SIDES = ['lender', 'borrower'] as const;
export type LoanSide = (typeof LOAN_SIDES)[number];

/** Who pays for feeding, or for the veterinarian. */
export const COST_BEARERS = ['lender', 'borrower', 'shared'] as const;
/** What the borrower owes for an animal that dies with it. */
export const LOAN_DEATHS = ['nothing_due', 'value_due'] as const;
/** One after the other in turns, or each owned by both in the agreed parts. */
export const SPLIT_METHODS = ['by_turns', 'shared'] as const;
/** Who has the one left over: the sides alternate between clutches, one of them, or the borrower, who pays the other out. */
export const ODD_ONES = ['alternates', 'lender', 'borrower', 'paid_out'] as const;
export const YOUNG_BRED_BY = ['lender', 'borrower', 'both'] as const;

/** How the young of a loan are divided: the lender has `lenderParts` of `ofParts`. Who picks first is of turns only. */
export type YoungSplit = { readonly lenderParts: number; readonly ofParts: number } & (
  | { readonly method: 'by_turns'; readonly firstPick: LoanSide; readonly oddOne: (typeof ODD_ONES)[number] }
  | { readonly method: 'shared'; readonly firstPick: null; readonly oddOne: null }
);

/**
 * What two keepers agreed about a breeding loan, fixed with its offer: whoever wants other terms offers anew. Null was left open.
 * Written terms of this kind are common practice, no published source.
 */
export type LoanTerms = {
  /** Days the borrower has once the lender calls the animals back; null = the day changes by agreement only. */
  readonly recallDays: number | null;
  readonly keepCosts: (typeof COST_BEARERS)[number] | null;
  readonly vetCosts: (typeof COST_BEARERS)[number] | null;
  readonly onDeath: (typeof LOAN_DEATHS)[number] | null;
  /** What each animal that dies counts for. For the owners of the two keepers only; gone with a lender who was forgotten. */
  readonly value: { readonly minor: number; readonly currency: string } | null;
  readonly youngSplit: YoungSplit | null;
  readonly youngBredBy: (typeof YOUNG_BRED_BY)[number] | null;
};

/** Only a breeding loan has terms of a loan: refused TRANSFER_TERMS_MISFIT; null when they fit. */
export function loanTermsProblem(terms: {
  readonly kind: string;
  readonly loanTerms: LoanTerms | null;
}): Decision<never> | null {
  if (terms.loanTerms === null || terms.kind === 'breeding_loan') return null;
  const message = 'Only a breeding loan has terms of a loan.';
  const remedy = 'Leave them out, or offer a breeding_loan.';
  return refuse('TRANSFER_TERMS_MISFIT', `${message} ${remedy}`, {
    fields: [{ path: 'input.loanTerms', message, remedy }],
  });
}
