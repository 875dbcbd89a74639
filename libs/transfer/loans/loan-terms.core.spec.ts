import { describe, expect, it } from '@jest/globals';
import { type LoanTerms, loanTermsProblem } from './loan-terms.core.js';
import { loanTermsInput } from './loan-terms-input.js';

const OPEN: LoanTerms = {
  recallDays: null,
  keepCosts: null,
  vetCosts: null,
  onDeath: null,
  value: null,
  youngSplit: null,
  youngBredBy: null,
};
const TURNS = { method: 'by_turns', lenderParts: 1, ofParts: 2, firstPick: 'lender', oddOne: 'alternates' };
const EUR = { minor: 5_000, currency: 'EUR' };

describe('terms of a loan', () => {
  it('belong to a breeding loan and to nothing else', () => {
    expect(loanTermsProblem({ kind: 'breeding_loan', loanTerms: OPEN })).toBeNull();
    expect(loanTermsProblem({ kind: 'loan_return', loanTerms: null })).toBeNull();
    expect(loanTermsProblem({ kind: 'loan_return', loanTerms: OPEN })).toMatchObject({
      refusal: { rule: 'TRANSFER_TERMS_MISFIT', fields: [{ path: 'input.loanTerms' }] },
    });
  });

  it('what is not said is left open', () => {
    expect(loanTermsInput.parse({})).toEqual(OPEN);
    expect(loanTermsInput.parse({ recallDays: 0, youngSplit: TURNS })).toEqual({
      ...OPEN,
      recallDays: 0,
      youngSplit: TURNS,
    });
    const shared = { method: 'shared', lenderParts: 0, ofParts: 1 };
    expect(loanTermsInput.parse({ youngSplit: shared }).youngSplit).toEqual({
      ...shared,
      firstPick: null,
      oddOne: null,
    });
  });

  it.each<[string, object, string]>([
    ['a recall of minus one day', { recallDays: -1 }, 'recallDays'],
    ['a recall of more than a year', { recallDays: 366 }, 'recallDays'],
    ['a value that is not due', { value: EUR }, 'value'],
    ['a value with nothing due', { onDeath: 'nothing_due', value: EUR }, 'value'],
    ['a value that is due and not named', { onDeath: 'value_due' }, 'value'],
    ['a value of nothing', { onDeath: 'value_due', value: { ...EUR, minor: 0 } }, 'value.minor'],
    ['a value in no currency', { onDeath: 'value_due', value: { ...EUR, currency: 'XXQ' } }, 'value.currency'],
    ['more than all the young', { youngSplit: { ...TURNS, lenderParts: 3 } }, 'youngSplit.lenderParts'],
    ['young in no parts', { youngSplit: { ...TURNS, lenderParts: 0, ofParts: 0 } }, 'youngSplit.ofParts'],
    ['young in a hundred and one parts', { youngSplit: { ...TURNS, ofParts: 101 } }, 'youngSplit.ofParts'],
    ['turns that nobody begins', { youngSplit: { ...TURNS, firstPick: null } }, 'youngSplit.firstPick'],
    ['turns with one left over', { youngSplit: { ...TURNS, oddOne: null } }, 'youngSplit.oddOne'],
    ['a first pick of what is shared', { youngSplit: { ...TURNS, method: 'shared' } }, 'youngSplit.oddOne'],
  ])('%s is refused, with what is wrong and how to mend it', (_, terms, path) => {
    const issues = loanTermsInput.safeParse(terms).error?.issues ?? [];
    expect(issues.map((issue) => issue.path.join('.'))).toContain(path);
    for (const { message } of issues) expect(message).toContain(' | ');
  });
});
