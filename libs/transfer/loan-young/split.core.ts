import { normaliseShares } from '../../kernel/index.js';
import { LOAN_SIDES, type LoanSide, type YoungSplit } from '../loans/loan-terms.core.js';

/** Turns as two keepers agreed on them. */
export type SplitTerms = Omit<Extract<YoungSplit, { method: 'by_turns' }>, 'method'>;

/** How many young each side has. */
export type Tally = Readonly<Record<LoanSide, number>>;

/** What each side has of a clutch in the end. `odd` is who has the one that is left over; null = it divides evenly. */
export type Split = Tally & { readonly odd: LoanSide | null };

const other = (side: LoanSide): LoanSide => (side === 'lender' ? 'borrower' : 'lender');

/** A side's part of `young`, counted in parts of one young (`ofParts` make one), so that nothing is rounded. */
function due(terms: SplitTerms, side: LoanSide, young: number): number {
  return young * (side === 'lender' ? terms.lenderParts : terms.ofParts - terms.lenderParts);
}

/**
 * How the young of one clutch are divided. Each side has the whole number of young in its part; where the parts leave a
 * fraction there is exactly one young over, the odd one, and it goes as the terms say. It alternates over the clutches of a loan:
 * it goes to the side that is further behind its part over this clutch and the `earlier` ones, and to whoever picks first where
 * neither is; with equal parts that is one clutch this side, the next the other. Common practice, no published source.
 */
export function decideSplit(terms: SplitTerms, young: number, earlier: readonly Tally[]): Split {
  const whole = (side: LoanSide): number => Math.floor(due(terms, side, young) / terms.ofParts);
  const split = { lender: whole('lender'), borrower: whole('borrower') };
  if (split.lender + split.borrower === young) return { ...split, odd: null };
  const odd = oddSide(terms, [...earlier, split], young);
  return { ...split, [odd]: split[odd] + 1, odd };
}

function oddSide(terms: SplitTerms, tallies: readonly Tally[], young: number): LoanSide {
  if (terms.oddOne === 'paid_out') return 'borrower';
  if (terms.oddOne !== 'alternates') return terms.oddOne;
  const had = tallies.reduce((sum, { lender, borrower }) => sum + lender + borrower, 0);
  const inThis = tallies.at(-1);
  // All young so far and this clutch's, of which one is not given to anybody yet.
  const all = had - (inThis === undefined ? 0 : inThis.lender + inThis.borrower) + young;
  const behind = (side: LoanSide): number =>
    due(terms, side, all) - terms.ofParts * tallies.reduce((sum, tally) => sum + tally[side], 0);
  const first = terms.firstPick;
  return behind(first) >= behind(other(first)) ? first : other(first);
}

/**
 * Whose turn each pick is that is left, in order. The side that picks first has the first one; then always the side further
 * behind its part, counted up to and with this pick, and whoever picks first where both are equal; a side that has all of its
 * young leaves the rest to the other. So nobody is ever a whole young ahead. A side that has more than its number, because young
 * died after it picked, keeps what it has.
 */
export function turnsLeft(terms: SplitTerms, split: Tally, picked: Tally): LoanSide[] {
  const got = { ...picked };
  const total = split.lender + split.borrower;
  const over = LOAN_SIDES.find((side) => got[side] > split[side]);
  const most = over === undefined ? split : { [over]: got[over], [other(over)]: total - got[over] };
  const turns: LoanSide[] = [];
  for (let pick = got.lender + got.borrower + 1; pick <= total; pick++) {
    const full = LOAN_SIDES.find((side) => got[side] >= (most[side] ?? 0));
    const side = full === undefined ? furtherBehind(terms, got, pick) : other(full);
    turns.push(side);
    got[side] += 1;
  }
  return turns;
}

function furtherBehind(terms: SplitTerms, got: Tally, pick: number): LoanSide {
  const first = terms.firstPick;
  if (pick === 1) return first;
  const behind = (side: LoanSide): number => due(terms, side, pick) - terms.ofParts * got[side];
  return behind(first) >= behind(other(first)) ? first : other(first);
}

/** Ownership of young that belong to both, in the smallest whole parts; a side without a part is left out. */
export function sharesOfYoung({ lenderParts, ofParts }: Pick<SplitTerms, 'lenderParts' | 'ofParts'>): {
  side: LoanSide;
  parts: number;
}[] {
  const parts = { lender: lenderParts, borrower: ofParts - lenderParts };
  const sides = LOAN_SIDES.filter((side) => parts[side] > 0);
  const shares = normaliseShares(sides.map((side) => parts[side]));
  return sides.map((side, i) => ({ side, parts: shares[i] ?? 0 }));
}
