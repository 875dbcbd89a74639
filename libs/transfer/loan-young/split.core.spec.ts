import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { LOAN_SIDES, type LoanSide } from '../loans/loan-terms.core.js';
import { decideSplit, sharesOfYoung, type SplitTerms, type Tally, turnsLeft } from './split.core.js';

const half: SplitTerms = { lenderParts: 1, ofParts: 2, firstPick: 'lender', oddOne: 'alternates' };
const seven: SplitTerms = { ...half, lenderParts: 7, ofParts: 10 };
const NONE: Tally = { lender: 0, borrower: 0 };
/** L and B, one letter a pick. */
const order = (terms: SplitTerms, young: number, earlier: Tally[] = [], picked = NONE): string =>
  turnsLeft(terms, decideSplit(terms, young, earlier), picked)
    .map((side) => side.charAt(0).toUpperCase())
    .join('');

describe('young of one clutch', () => {
  it.each<[string, SplitTerms, number, string]>([
    ['halves of an even number: one after the other', half, 6, 'LBLBLB'],
    ['whoever picks first', { ...half, firstPick: 'borrower' }, 4, 'BLBL'],
    ['an odd number: the one that is over goes to whoever picks first, in the first clutch', half, 5, 'LBLBL'],
    ['the one that is over is the borrower’s by the terms: it comes last', { ...half, oddOne: 'borrower' }, 5, 'LBLBB'],
    ['it is paid out: the borrower keeps it', { ...half, oddOne: 'paid_out' }, 3, 'LBB'],
    ['a single one is the one that is over', { ...half, oddOne: 'borrower' }, 1, 'B'],
    ['70/30 of ten', seven, 10, 'LBLLLBLLBL'],
    ['70/30 of three: 2.1 and 0.9, and the lesser part is further behind', seven, 3, 'LBL'],
    ['70/30 where the lesser part picks first', { ...seven, firstPick: 'borrower' }, 10, 'BLLLBLLLBL'],
    ['all of them are the lender’s', { ...half, lenderParts: 2, firstPick: 'borrower' }, 3, 'LLL'],
    ['none are the lender’s', { ...half, lenderParts: 0 }, 2, 'BB'],
    ['no young', half, 0, ''],
  ])('%s', (_, terms, young, expected) => {
    expect(order(terms, young)).toBe(expected);
  });

  it('says who has the one that is over', () => {
    expect(decideSplit(half, 5, [])).toEqual({ lender: 3, borrower: 2, odd: 'lender' });
    expect(decideSplit(half, 4, [])).toEqual({ lender: 2, borrower: 2, odd: null });
    expect(decideSplit({ ...half, oddOne: 'paid_out' }, 5, [])).toEqual({ lender: 2, borrower: 3, odd: 'borrower' });
  });
});

describe('over the clutches of a loan', () => {
  it('halves: the one that is over goes to one side and then to the other', () => {
    const earlier: Tally[] = [];
    const odd: (LoanSide | null)[] = [];
    for (const young of [3, 5, 4, 1, 7]) {
      const split = decideSplit(half, young, earlier);
      earlier.push(split);
      odd.push(split.odd);
    }
    expect(odd).toEqual(['lender', 'borrower', null, 'lender', 'borrower']);
  });

  it('70/30: three singles and seven more come to seven and three', () => {
    const earlier: Tally[] = [];
    for (let clutch = 0; clutch < 10; clutch++) earlier.push(decideSplit(seven, 1, earlier));
    expect(earlier.reduce((sum, { lender }) => sum + lender, 0)).toBe(7);
  });

  it('does not alternate where the terms name a side', () => {
    const terms = { ...half, oddOne: 'lender' as const };
    expect(decideSplit(terms, 3, [decideSplit(terms, 3, [])]).odd).toBe('lender');
  });
});

describe('when young die or hatch between the picks', () => {
  it('who comes next follows from those left: six of which two were picked and one died', () => {
    expect(order(half, 5, [], { lender: 1, borrower: 1 })).toBe('LBL');
  });

  it('a side that has more than its number keeps it, and the rest goes to the other', () => {
    expect(order({ ...half, oddOne: 'borrower' }, 3, [], { lender: 2, borrower: 0 })).toBe('B');
    expect(order(half, 2, [], { lender: 2, borrower: 0 })).toBe('');
  });

  it('one more hatches after all were picked: it goes to the side behind', () => {
    expect(order(half, 4, [], { lender: 2, borrower: 1 })).toBe('B');
  });
});

describe('ownership of shared young', () => {
  it('is the agreed part, in whole parts', () => {
    expect(sharesOfYoung({ lenderParts: 50, ofParts: 100 })).toEqual([
      { side: 'lender', parts: 1 },
      { side: 'borrower', parts: 1 },
    ]);
    expect(sharesOfYoung({ lenderParts: 70, ofParts: 100 }).map(({ parts }) => parts)).toEqual([7, 3]);
    expect(sharesOfYoung({ lenderParts: 0, ofParts: 1 })).toEqual([{ side: 'borrower', parts: 1 }]);
    expect(sharesOfYoung({ lenderParts: 3, ofParts: 3 })).toEqual([{ side: 'lender', parts: 1 }]);
  });
});

describe('for all terms', () => {
  const terms = fc
    .record({
      ofParts: fc.integer({ min: 1, max: 100 }),
      part: fc.double({ min: 0, max: 1, noNaN: true }),
      firstPick: fc.constantFrom(...LOAN_SIDES),
      oddOne: fc.constantFrom('alternates', 'lender', 'borrower', 'paid_out' as const),
    })
    .map(({ part, ...rest }): SplitTerms => ({ ...rest, lenderParts: Math.round(part * rest.ofParts) }));
  const young = fc.integer({ min: 0, max: 60 });
  const exact = ({ lenderParts, ofParts }: SplitTerms, side: LoanSide, of: number): number =>
    (of * (side === 'lender' ? lenderParts : ofParts - lenderParts)) / ofParts;

  it('nobody is left over, and no side is a whole young off its part', () => {
    fc.assert(
      fc.property(terms, young, fc.array(young, { maxLength: 4 }), (agreed, count, before) => {
        const earlier: Tally[] = [];
        for (const each of before) earlier.push(decideSplit(agreed, each, earlier));
        const split = decideSplit(agreed, count, earlier);
        expect(split.lender + split.borrower).toBe(count);
        for (const side of LOAN_SIDES) {
          expect(Math.abs(split[side] - exact(agreed, side, count))).toBeLessThan(1);
          if (split.odd !== side) expect(split[side]).toBe(Math.floor(exact(agreed, side, count) + 1e-9));
        }
      }),
    );
  });

  it('after no pick is a side a whole young ahead or behind', () => {
    fc.assert(
      fc.property(terms, young, (agreed, count) => {
        const turns = turnsLeft(agreed, decideSplit(agreed, count, []), NONE);
        expect(turns).toHaveLength(count);
        turns.forEach((_, i) => {
          for (const side of LOAN_SIDES) {
            const got = turns.slice(0, i + 1).filter((turn) => turn === side).length;
            expect(Math.abs(got - exact(agreed, side, i + 1))).toBeLessThan(1);
          }
        });
      }),
    );
  });

  it('the turns are the same whether asked at once or after each pick', () => {
    fc.assert(
      fc.property(terms, young, (agreed, count) => {
        const split = decideSplit(agreed, count, []);
        const picked = { ...NONE };
        for (const turn of turnsLeft(agreed, split, NONE)) {
          expect(turnsLeft(agreed, split, picked)[0]).toBe(turn);
          picked[turn] += 1;
        }
      }),
    );
  });

  it('where the odd one alternates, a loan is never a whole young off its parts', () => {
    fc.assert(
      fc.property(terms, fc.array(young, { maxLength: 8 }), (some, clutches) => {
        const agreed = { ...some, oddOne: 'alternates' as const };
        const earlier: Tally[] = [];
        for (const each of clutches) earlier.push(decideSplit(agreed, each, earlier));
        const all = earlier.reduce((sum, { lender, borrower }) => sum + lender + borrower, 0);
        for (const side of LOAN_SIDES) {
          const had = earlier.reduce((sum, tally) => sum + tally[side], 0);
          expect(Math.abs(had - exact(agreed, side, all))).toBeLessThan(1);
        }
      }),
    );
  });
});
