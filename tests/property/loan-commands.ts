import fc from 'fast-check';
import { type Model, type Transfer } from './history-model.js';
import { accountOf, NOBODY, number, pick, Step, step } from './history-drafts.js';
import { type Cast } from './history-world.js';
import { later, unpicked } from './loan-rules.js';

/** Mostly a loan whose animals have arrived. */
function loanIn(model: Model, n: number): Transfer | undefined {
  const all = [...model.transfers.values()];
  const loans = all.filter(({ kind }) => kind === 'breeding_loan');
  const begun = loans.filter(({ state }) => state === 'received' || state === 'sent');
  return (n % 9 === 8 ? pick(all, n) : undefined) ?? pick(begun, n) ?? pick(loans, n);
}

/** Mostly somebody who decides for one of the two. */
function headOf(model: Model, cast: Cast, keeper: string | undefined, n: number): string {
  const mine = cast.accounts.filter((account) => keeper !== undefined && model.heads(account, keeper));
  return (n % 8 === 7 ? undefined : pick(mine, n)) ?? accountOf(cast, n);
}

const days = fc.constantFrom(-1, 0, 10, 14, 20, 83, 120).map(later);

const ask = (what: 'askDay' | 'recall') =>
  step(fc.record({ n: number, m: number, dueBack: days }), ({ n, m, dueBack }, model, cast) => {
    const loan = loanIn(model, n);
    const keeper = what === 'recall' || m % 2 === 0 ? loan?.from : loan?.to;
    return { do: what, transfer: loan?.id ?? NOBODY, dueBack, by: headOf(model, cast, keeper, m) };
  });

const answer = step(
  fc.record({ n: number, m: number, agree: fc.constantFrom(true, true, false), back: fc.boolean() }),
  ({ n, m, agree, back }, model, cast) => {
    const asked = [...model.transfers.values()].filter(({ asks }) => asks.length > 0);
    const open = asked.filter(({ asks }) => asks.some(({ outcome }) => outcome === null));
    const loan = (n % 6 === 5 ? undefined : pick(open, n)) ?? pick(asked, n);
    const found = loan?.asks.find(({ outcome }) => outcome === null) ?? loan?.asks.at(-1);
    const own = found?.by === 'lender' ? loan?.from : loan?.to;
    const other = found?.by === 'lender' ? loan?.to : loan?.from;
    const id = found?.id ?? NOBODY;
    return back && m % 3 === 0
      ? { do: 'withdrawDay', ask: id, by: headOf(model, cast, own, n) }
      : { do: 'answerDay', ask: id, agree, by: headOf(model, cast, other, n) };
  },
);

const picks = step(fc.record({ n: number, m: number, two: fc.nat(6) }), ({ n, m, two }, model, cast) => {
  const loans = [...model.transfers.values()].filter(({ clutches }) => clutches.length > 0);
  const loan = (n % 9 === 8 ? undefined : pick(loans, n)) ?? loanIn(model, n);
  const clutch = pick(loan?.clutches ?? [], m) ?? pick([...model.clutches.keys()], m) ?? NOBODY;
  const all = [...model.animals.values()].filter(({ young }) => young?.clutch === clutch);
  const free = all.filter((each) => unpicked(model, each) !== null);
  const from = m % 7 === 6 || free.length === 0 ? all : free;
  const animals = [...new Set([pick(from, m)?.id ?? NOBODY, ...(two === 0 ? [pick(from, m + 1)?.id ?? NOBODY] : [])])];
  const by = headOf(model, cast, m % 2 === 0 ? loan?.from : loan?.to, n);
  return { do: 'pickYoung', transfer: loan?.id ?? NOBODY, clutch, animals, by };
});

/** The next thing with a loan: picks where young wait, an answer where somebody asks, another last day. */
const lend = fc
  .tuple(number, picks, answer, ask('askDay'), ask('recall'))
  .map(([n, pickings, answers, asks, recalls]) => {
    return new Step((model, cast) => {
      const loans = [...model.transfers.values()];
      const waiting = [...model.animals.values()].some((animal) => unpicked(model, animal) !== null);
      const asked = loans.some((loan) => loan.asks.some(({ outcome }) => outcome === null));
      const next: Step[] = [
        ...(waiting ? [pickings, pickings, pickings] : []),
        ...(asked ? [answers, answers] : [asks]),
        recalls,
      ];
      return (pick(next, n) ?? asks).drafted(model, cast);
    });
  });

/** Commands about loans. */
export const loanKinds = [...Array<typeof lend>(8).fill(lend), picks, answer];
