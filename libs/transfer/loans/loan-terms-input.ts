import { z } from 'zod';
import { currencyInput } from '../title/title-input.js';
import {
  COST_BEARERS,
  LOAN_DEATHS,
  LOAN_SIDES,
  type LoanTerms,
  ODD_ONES,
  SPLIT_METHODS,
  YOUNG_BRED_BY,
  type YoungSplit,
} from './loan-terms.core.js';

/** Longest time a lender gives, a year; most parts the young are counted in. Conventions of this registry. */
const MAX_RECALL_DAYS = 365;
const MAX_PARTS = 100;

const youngSplitInput = z
  .object({
    method: z.enum(SPLIT_METHODS),
    lenderParts: z.int().min(0, 'A part is not negative. | Write 0 when the borrower has all the young.'),
    ofParts: z
      .int()
      .min(1, 'The young have at least one part. | Write 1 of 2 for a half.')
      .max(MAX_PARTS, `The parts are too fine. | Count the young in at most ${MAX_PARTS} parts.`),
    firstPick: z.enum(LOAN_SIDES).nullish(),
    oddOne: z.enum(ODD_ONES).nullish(),
  })
  .refine(({ lenderParts, ofParts }) => lenderParts <= ofParts, {
    path: ['lenderParts'],
    message: 'The lender’s part is more than all the young. | Write at most as many parts as there are.',
  })
  .transform(({ method, lenderParts, ofParts, firstPick = null, oddOne = null }, context): YoungSplit => {
    const parts = { lenderParts, ofParts };
    if (method === 'by_turns' && firstPick !== null && oddOne !== null) return { ...parts, method, firstPick, oddOne };
    if (method === 'shared' && firstPick === null && oddOne === null) return { ...parts, method, firstPick, oddOne };
    const message =
      method === 'by_turns'
        ? 'Turns need to know who picks first and who has the one left over. | Give firstPick and oddOne.'
        : 'Nobody picks where each of the young is owned by both. | Leave firstPick and oddOne out.';
    context.addIssue({ code: 'custom', path: [firstPick === null ? 'firstPick' : 'oddOne'], message });
    return z.NEVER;
  });

/** The terms as an entry of the ledger holds them: what an animal counts for is personal text. */
export const loanTermsEntry = z.strictObject({
  recallDays: z.int().nullable(),
  keepCosts: z.enum(COST_BEARERS).nullable(),
  vetCosts: z.enum(COST_BEARERS).nullable(),
  onDeath: z.enum(LOAN_DEATHS).nullable(),
  youngBredBy: z.enum(YOUNG_BRED_BY).nullable(),
  youngSplit: z
    .strictObject({
      method: z.enum(SPLIT_METHODS),
      lenderParts: z.int(),
      ofParts: z.int(),
      firstPick: z.enum(LOAN_SIDES).nullable(),
      oddOne: z.enum(ODD_ONES).nullable(),
    })
    .nullable(),
});

/** The part of the terms that goes into the entry. */
export function toLoanTermsEntry({ value: _, ...terms }: LoanTerms): z.infer<typeof loanTermsEntry> {
  return terms;
}

/** What an offer of a breeding loan says of its terms. */
export const loanTermsInput = z
  .object({
    recallDays: z
      .int()
      .min(0, 'Days are not negative. | Write 0 for at once, or leave it out.')
      .max(MAX_RECALL_DAYS, `This is too long. | Give at most ${MAX_RECALL_DAYS} days.`)
      .nullish(),
    keepCosts: z.enum(COST_BEARERS).nullish(),
    vetCosts: z.enum(COST_BEARERS).nullish(),
    onDeath: z.enum(LOAN_DEATHS).nullish(),
    value: z
      .object({
        minor: z.int().positive('A value is more than nothing. | Write at least 1, in cents or the like.'),
        currency: currencyInput,
      })
      .nullish(),
    youngSplit: youngSplitInput.nullish(),
    youngBredBy: z.enum(YOUNG_BRED_BY).nullish(),
  })
  .refine(({ onDeath, value }) => (onDeath === 'value_due') === (value !== null && value !== undefined), {
    path: ['value'],
    message: 'A value belongs to value_due, and value_due needs one. | Give both, or neither.',
  })
  .transform((given): LoanTerms => {
    const { recallDays = null, keepCosts = null, vetCosts = null, onDeath = null, value = null } = given;
    const { youngSplit = null, youngBredBy = null } = given;
    return { recallDays, keepCosts, vetCosts, onDeath, value, youngSplit, youngBredBy };
  });
