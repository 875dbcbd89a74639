import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, day, type Decision } from '../../kernel/index.js';
import {
  answerExtension,
  askExtension,
  dueBackAsOf,
  type Loan,
  type LoanDayChange,
  loanStateOn,
  MAX_LOAN_DAYS,
  recallLoan,
  withdrawExtension,
} from './loan-day.core.js';

const TODAY = day('2026-06-10');
const CLOCK = { now: new Date('2026-06-10T12:00:00Z'), today: TODAY };
const DUE = day('2026-09-01');
const LOAN: Loan = {
  transferId: 'loan',
  kind: 'breeding_loan',
  state: 'received',
  dueBack: DUE,
  recallDays: 14,
  out: 2,
  days: [],
};
const ASK: LoanDayChange = {
  id: 'ask',
  askedBy: 'borrower',
  askedAt: new Date('2026-06-09T12:00:00Z'),
  dueBack: day('2026-10-01'),
  dueBackBefore: DUE,
  answeredAt: null,
  outcome: null,
};

const ask = (changes: Partial<Loan> = {}, dueBack = day('2026-10-01')) =>
  askExtension({ ...LOAN, ...changes }, { id: 'new', by: 'borrower', dueBack }, CLOCK);
const recall = (changes: Partial<Loan> = {}, dueBack = day('2026-06-24')) =>
  recallLoan({ ...LOAN, ...changes }, { id: 'new', dueBack }, CLOCK);
const ruleOf = (decision: Decision<unknown>) => (decision.ok ? 'done' : decision.refusal.rule);

describe('where a loan stands', () => {
  it.each<[string, Partial<Loan>, string | null]>([
    ['with the borrower before its day', {}, 'open'],
    ['on its last day', { dueBack: TODAY }, 'open'],
    ['the day after', { dueBack: day('2026-06-09') }, 'overdue'],
    ['nothing of it with the borrower any more', { out: 0, dueBack: day('2026-06-09') }, 'over'],
    ['accepted', { out: 0, state: 'accepted' }, 'agreed'],
    ['on its way', { out: 0, state: 'sent' }, 'agreed'],
    ['arrived in part', { out: 1, state: 'sent' }, 'open'],
    ['offered', { state: 'offered', out: 0 }, null],
    ['cancelled', { state: 'cancelled', out: 0 }, null],
    ['a sale', { kind: 'sale', dueBack: null }, null],
  ])('%s', (_, changes, state) => {
    expect(loanStateOn({ ...LOAN, ...changes }, TODAY)).toBe(state);
  });
});

describe('another last day', () => {
  it('waits for an answer, later or earlier', () => {
    expect(ask()).toMatchObject({
      value: { askedBy: 'borrower', dueBack: '2026-10-01', dueBackBefore: DUE, outcome: null, answeredAt: null },
    });
    expect(ruleOf(ask({}, day('2026-07-01')))).toBe('done');
    expect(ruleOf(ask({}, TODAY))).toBe('done');
    expect(ruleOf(ask({ state: 'accepted', out: 0 }))).toBe('done');
  });

  it.each<[string, Partial<Loan>, string, string]>([
    ['while one waits', { days: [ASK] }, '2026-11-01', 'LOAN_DAY_ASKED'],
    ['for the day that is', {}, DUE, 'LOAN_DAY_SAME'],
    ['for yesterday', {}, '2026-06-09', 'LOAN_DAY_PAST'],
    ['when it is over', { out: 0 }, '2026-10-01', 'LOAN_OVER'],
    ['of an offer', { state: 'offered', out: 0 }, '2026-10-01', 'LOAN_NOT_AGREED'],
    ['of a sale', { kind: 'sale', dueBack: null }, '2026-10-01', 'LOAN_NOT_AGREED'],
    [
      'for the fifty-first time',
      { days: Array.from({ length: MAX_LOAN_DAYS }, () => ({ ...ASK, outcome: 'declined' as const })) },
      '2026-10-01',
      'LOAN_DAYS_TOO_MANY',
    ],
  ])('is not asked for %s', (_, changes, dueBack, rule) => {
    expect(ruleOf(ask(changes, day(dueBack)))).toBe(rule);
  });

  it('is answered once, agreed to or declined, and a day that has passed only declined', () => {
    const loan = { ...LOAN, days: [ASK] };
    expect(answerExtension(loan, 'ask', true, CLOCK)).toMatchObject({
      value: { outcome: 'agreed', answeredAt: CLOCK.now },
    });
    expect(answerExtension(loan, 'ask', false, CLOCK)).toMatchObject({ value: { outcome: 'declined' } });
    const answered = { ...LOAN, days: [{ ...ASK, outcome: 'declined' as const, answeredAt: CLOCK.now }] };
    expect(ruleOf(answerExtension(answered, 'ask', true, CLOCK))).toBe('LOAN_DAY_ANSWERED');
    expect(ruleOf(withdrawExtension(answered, 'ask', CLOCK))).toBe('LOAN_DAY_ANSWERED');
    const passed = { ...LOAN, days: [{ ...ASK, dueBack: day('2026-06-09') }] };
    expect(ruleOf(answerExtension(passed, 'ask', true, CLOCK))).toBe('LOAN_DAY_PAST');
    expect(ruleOf(answerExtension(passed, 'ask', false, CLOCK))).toBe('done');
  });

  it('is taken back also when the loan is over, and agreed to then no more', () => {
    const loan = { ...LOAN, out: 0, days: [ASK] };
    expect(ruleOf(answerExtension(loan, 'ask', true, CLOCK))).toBe('LOAN_OVER');
    expect(withdrawExtension(loan, 'ask', CLOCK)).toMatchObject({ value: { outcome: 'withdrawn' } });
  });
});

describe('a recall', () => {
  it('gives the borrower the days of the terms, and no fewer', () => {
    expect(recall()).toMatchObject({
      value: {
        recall: { dueBack: '2026-06-24', dueBackBefore: DUE, outcome: 'recalled', askedBy: 'lender' },
        ended: null,
      },
    });
    expect(recall({}, day('2026-06-23'))).toMatchObject({
      refusal: { rule: 'LOAN_RECALL_TOO_SOON', fields: [{ path: 'input.dueBack' }] },
    });
    expect(ruleOf(recall({ recallDays: 0 }, TODAY))).toBe('done');
    expect(ruleOf(recall({ recallDays: 0 }, day('2026-06-09')))).toBe('LOAN_RECALL_TOO_SOON');
  });

  it.each<[string, Partial<Loan>, string, string]>([
    ['without a recall in the terms', { recallDays: null }, '2026-06-24', 'LOAN_RECALL_NOT_AGREED'],
    ['to a later day', {}, '2026-09-02', 'LOAN_RECALL_LATE'],
    ['to the day that is', {}, DUE, 'LOAN_RECALL_LATE'],
    ['that ends after the last day', { recallDays: 200 }, '2026-12-27', 'LOAN_RECALL_LATE'],
    ['of what is overdue', { recallDays: 0, dueBack: day('2026-06-09') }, TODAY, 'LOAN_RECALL_LATE'],
    ['before anything arrived', { out: 0, state: 'sent' }, '2026-06-24', 'LOAN_NOT_BEGUN'],
    ['of what is home', { out: 0 }, '2026-06-24', 'LOAN_OVER'],
  ])('is refused %s', (_, changes, dueBack, rule) => {
    expect(ruleOf(recall(changes, day(dueBack)))).toBe(rule);
  });

  it('is open to a lender however often the borrower asked', () => {
    const days = Array.from({ length: MAX_LOAN_DAYS }, () => ({ ...ASK, outcome: 'withdrawn' as const }));
    expect(ruleOf(recall({ days }))).toBe('done');
    const own = days.map((change) => ({ ...change, askedBy: 'lender' as const }));
    expect(ruleOf(recall({ days: own }))).toBe('LOAN_DAYS_TOO_MANY');
  });

  it('ends the ask that waits, of either side, and says that nobody answered it', () => {
    const ended = { id: 'ask', answeredAt: CLOCK.now, outcome: 'ended_by_recall' };
    for (const askedBy of ['borrower', 'lender'] as const)
      expect(recall({ days: [{ ...ASK, askedBy }] })).toMatchObject({ value: { ended: { ...ended, askedBy } } });
  });
});

describe('the last day as of a past day', () => {
  const agreed = (answered: string, dueBack: string, dueBackBefore: string): LoanDayChange => ({
    ...ASK,
    id: answered,
    answeredAt: new Date(`${answered}T10:00:00Z`),
    dueBack: day(dueBack),
    dueBackBefore: day(dueBackBefore),
    outcome: 'agreed',
  });
  const days: LoanDayChange[] = [
    agreed('2026-03-05', '2026-10-01', '2026-09-01'),
    { ...agreed('2026-04-05', '2027-01-01', '2026-10-01'), outcome: 'declined' },
    { ...agreed('2026-05-05', '2026-06-24', '2026-10-01'), outcome: 'recalled', askedBy: 'lender' },
  ];

  it.each([
    ['2026-03-04', '2026-09-01'],
    ['2026-03-05', '2026-10-01'],
    ['2026-05-04', '2026-10-01'],
    ['2026-05-05', '2026-06-24'],
    ['2027-01-01', '2026-06-24'],
  ])('%s: %s', (on, expected) => {
    expect(dueBackAsOf({ dueBack: day('2026-06-24'), days }, day(on))).toBe(expected);
  });

  it('is the day of the offer where nothing was ever changed', () => {
    expect(dueBackAsOf({ dueBack: DUE, days: [ASK] }, day('2026-03-01'))).toBe(DUE);
  });

  it('follows any history of agreed days, in whatever order the rows come', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 1, max: 300 }), { minLength: 1, maxLength: 8 }),
        fc.nat(20),
        (steps, at) => {
          const dues = [DUE, ...steps.map((step, i) => addDays(DUE, step + i))];
          const rows = steps.map((_, i) =>
            agreed(addDays(day('2026-02-01'), 2 * i), dues[i + 1] ?? DUE, dues[i] ?? DUE),
          );
          const on = addDays(day('2026-02-01'), at - 1);
          const done = Math.min(steps.length, Math.max(0, Math.floor((at - 1) / 2) + 1));
          expect(dueBackAsOf({ dueBack: dues.at(-1) ?? DUE, days: rows.toReversed() }, on)).toBe(dues[done]);
        },
      ),
    );
  });
});
