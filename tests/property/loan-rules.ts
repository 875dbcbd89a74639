import { guardianFault } from './guard-rules.js';
import { type Clutch, eggHolder, isLiving } from './clutch.js';
import {
  type Animal,
  type Ask,
  held,
  type LoanSide,
  type Model,
  owned,
  TODAY,
  type Transfer,
  dividedBy,
} from './history-model.js';
import { type Forecast, no, yes } from './forecast.js';

/** A command about a loan: its last day, and picks of its young. */
export type LoanCommand = { readonly by: string } & (
  | { readonly do: 'askDay' | 'recall'; readonly transfer: string; readonly dueBack: string }
  | { readonly do: 'answerDay'; readonly ask: string; readonly agree: boolean }
  | { readonly do: 'withdrawDay'; readonly ask: string }
  | {
      readonly do: 'pickYoung';
      readonly transfer: string;
      readonly clutch: string;
      readonly animals: readonly string[];
    }
);

const RULE_DAYS_TOO_MANY = 50;

const keeperOf = ({ from, to }: Transfer, side: LoanSide): string => (side === 'lender' ? from : to);

/** The day after so many others. */
export function later(days: number): string {
  return new Date(Date.parse(TODAY) + days * 86_400_000).toISOString().slice(0, 10);
}

/** Who had a record last, also where it was lost since. */
function lastKeeper(model: Model, { custody }: Animal): string | undefined {
  return custody.findLast(({ holder }) => model.isKeeper(holder))?.holder;
}

/** Records the borrower still has to give back: with it, or lost out of its keeping, and the lender's at least in part. */
function out(model: Model, loan: Transfer): Animal[] {
  return [...model.animals.values()].filter((animal) => {
    const merged = [...model.animals.values()].filter((each) => each.mergedInto === animal.id);
    if (![animal, ...merged].some(({ lent }) => lent.has(loan.id))) return false;
    const { shares, disputed } = owned(animal);
    if (!disputed && !shares.has(loan.from)) return false;
    const holder = held(animal)?.holder;
    if (holder === undefined) return false;
    const gone = animal.fate !== 'alive' && animal.fate !== 'dead';
    return holder === loan.to || (gone && lastKeeper(model, animal) === loan.to);
  });
}

/** What keeps the last day of a loan from being spoken of, or null. */
function dayFault(model: Model, loan: Transfer): string | null {
  if (loan.kind !== 'breeding_loan' || !['accepted', 'sent', 'received'].includes(loan.state)) return 'LOAN_NOT_AGREED';
  return loan.state === 'received' && out(model, loan).length === 0 ? 'LOAN_OVER' : null;
}

function newDayFault(loan: Transfer, by: LoanSide, dueBack: string): string | null {
  if (dueBack < TODAY) return 'LOAN_DAY_PAST';
  if (dueBack === loan.dueBack) return 'LOAN_DAY_SAME';
  return loan.asks.filter((ask) => ask.by === by).length >= RULE_DAYS_TOO_MANY ? 'LOAN_DAYS_TOO_MANY' : null;
}

/** What should become of a command about a loan. */
export function forecastLoan(model: Model, command: LoanCommand): Forecast {
  const { by } = command;
  const named = 'transfer' in command ? command.transfer : null;
  const loan = [...model.transfers.values()].find((each) =>
    'ask' in command ? each.asks.some(({ id }) => id === command.ask) : each.id === named,
  );
  if (loan === undefined) return no('NOT_FOUND');
  const acts = (side: LoanSide): boolean =>
    side === 'lender' ? model.acts(by, loan.from) : !loan.outside && model.acts(by, loan.to);
  if (!acts('lender') && !acts('borrower')) return no('NOT_FOUND');
  if (command.do === 'pickYoung') return pick(model, loan, command);
  const ask = loan.asks.find(({ id }) => 'ask' in command && id === command.ask);
  const sides: Record<typeof command.do, LoanSide> = {
    askDay: acts('lender') ? 'lender' : 'borrower',
    recall: 'lender',
    answerDay: OTHER[ask?.by ?? 'borrower'],
    withdrawDay: ask?.by ?? 'lender',
  };
  const side = sides[command.do];
  if (!acts(side)) return no('FORBIDDEN');
  const guardian = guardianFault(model, by, keeperOf(loan, side));
  if (guardian !== null) return no(guardian);
  const fault = command.do === 'withdrawDay' ? null : dayFault(model, loan);
  if (fault !== null) return no(fault);
  const waits = loan.asks.find(({ outcome }) => outcome === null);
  switch (command.do) {
    case 'askDay': {
      if (waits !== undefined) return no('LOAN_DAY_ASKED');
      const wrong = newDayFault(loan, side, command.dueBack);
      if (wrong !== null) return no(wrong);
      return yes(([id = '']) => void loan.asks.push({ id, by: side, dueBack: command.dueBack, outcome: null }));
    }
    case 'withdrawDay':
      if (ask?.outcome !== null) return no('LOAN_DAY_ANSWERED');
      return yes(() => void (ask.outcome = 'withdrawn'));
    case 'answerDay':
      if (ask?.outcome !== null) return no('LOAN_DAY_ANSWERED');
      return yes(() => {
        ask.outcome = command.agree ? 'agreed' : 'declined';
        if (command.agree) loan.dueBack = ask.dueBack;
      });
    case 'recall':
      return recall(model, loan, waits, command.dueBack);
  }
}

function recall(model: Model, loan: Transfer, waits: Ask | undefined, dueBack: string): Forecast {
  if (out(model, loan).length === 0) return no('LOAN_NOT_BEGUN');
  const days = loan.loan?.recallDays ?? null;
  if (days === null) return no('LOAN_RECALL_NOT_AGREED');
  const last = loan.dueBack ?? '';
  if (later(days) >= last) return no('LOAN_RECALL_LATE');
  if (dueBack < later(days)) return no('LOAN_RECALL_TOO_SOON');
  if (dueBack >= last) return no('LOAN_RECALL_LATE');
  const wrong = newDayFault(loan, 'lender', dueBack);
  if (wrong !== null) return no(wrong);
  return yes(([id = '']) => {
    if (waits !== undefined) waits.outcome = 'ended_by_recall';
    loan.asks.push({ id, by: 'lender', dueBack, outcome: 'recalled' });
    loan.dueBack = dueBack;
  });
}

/** The loan of which the young of a clutch are: the one by which its dam, under any of her records, was there on the day. */
function loanOf(model: Model, clutch: Clutch): Transfer | null {
  if (clutch.loan !== null) return model.transfers.get(clutch.loan) ?? null;
  const dam = model.animals.get(clutch.dam);
  const one = dam?.mergedInto ?? clutch.dam;
  const records = [...model.animals.values()].filter(({ id, mergedInto }) => id === one || mergedInto === one);
  const there = (from: string, to: string | null): boolean => from <= clutch.laid && (to === null || clutch.laid < to);
  const stay = records
    .flatMap((record) => record.custody.map((span) => ({ record, span })))
    .filter(({ span }) => span.loan !== undefined && there(span.from, span.to))
    .toSorted((a, b) => (a.span.from < b.span.from ? 1 : -1))[0];
  const loan = model.transfers.get(stay?.span.loan ?? '');
  if (stay === undefined || loan === undefined) return null;
  const lent = stay.record.owners.some(({ shares, from, to }) => there(from, to) && shares.has(loan.from));
  return lent ? loan : null;
}

/** What has just hatched with a side of a loan belongs to both in the agreed parts. Gives whether it is so. */
export function youngOfLoan(model: Model, clutch: Clutch, keeper: string): { apply(animal: Animal): void } | null {
  const loan = loanOf(model, clutch);
  const split = loan?.loan?.split ?? null;
  if (loan === null || split === null || (keeper !== loan.from && keeper !== loan.to)) return null;
  return {
    apply(animal) {
      if (clutch.loan === null) {
        clutch.loan = loan.id;
        loan.clutches.push(clutch.id);
      }
      animal.young = { clutch: clutch.id, pickedBy: null };
      const parts = [[loan.from, split.lender] as const, [loan.to, split.of - split.lender] as const];
      model.own(animal, new Map(parts.filter(([, part]) => part > 0)), owned(animal).from);
    },
  };
}

/** The clutch of one of the young that waits to be picked, or null. */
export function unpicked(model: Model, animal: Animal): string | null {
  const loan = dividedBy(model, animal);
  if (loan?.loan?.split?.first === undefined || animal.young?.pickedBy !== null) return null;
  return animal.fate === 'alive' ? animal.young.clutch : null;
}

type Count = Record<LoanSide, number>;
const OTHER = { lender: 'borrower', borrower: 'lender' } as const;

/** How the young of a clutch of a loan are divided by turns in halves, and who picks next, in order. */
function turnsOf(model: Model, loan: Transfer, clutchId: string): { turns: LoanSide[]; waits: boolean } {
  const { first = 'lender', odd = 'lender' } = loan.loan?.split ?? {};
  const had: Count = { lender: 0, borrower: 0 };
  for (const id of loan.clutches) {
    const all = [...model.animals.values()].filter(({ young }) => young?.clutch === id);
    const left = all.filter((each) => each.kind === 'individual' && unpicked(model, each) !== null).length;
    const got = { lender: 0, borrower: 0 };
    for (const { young } of all) if (young?.pickedBy) got[young.pickedBy] += 1;
    const total = got.lender + got.borrower + left;
    const due = { lender: Math.floor(total / 2), borrower: Math.floor(total / 2) };
    const over = total % 2 === 1;
    const behind = had.lender === had.borrower ? first : had.lender < had.borrower ? 'lender' : 'borrower';
    if (over) due[odd === 'alternates' ? behind : odd] += 1;
    if (id === clutchId) {
      const turns = picksOf(due, got, first);
      const clutch = model.clutches.get(id);
      const lots = all.some(
        (each) => each.kind === 'lot' && each.fate === 'alive' && each.count > 0 && dividedBy(model, each),
      );
      const waits = over && turns.length > 0 && (lots || (clutch !== undefined && mayHatch(model, loan, clutch)));
      return { turns: waits ? turns.slice(0, -1) : turns, waits };
    }
    const ends = left === 0 ? got : due;
    had.lender += ends.lender;
    had.borrower += ends.borrower;
  }
  return { turns: [], waits: false };
}

function picksOf(due: Count, picked: Count, first: LoanSide): LoanSide[] {
  const total = due.lender + due.borrower;
  const got = { ...picked };
  const most = { ...due };
  for (const side of ['lender', 'borrower'] as const)
    if (picked[side] > due[side]) Object.assign(most, { [side]: picked[side], [OTHER[side]]: total - picked[side] });
  const turns: LoanSide[] = [];
  while (got.lender + got.borrower < total) {
    const next = got.lender === got.borrower ? first : got.lender < got.borrower ? 'lender' : 'borrower';
    const side = got[next] >= most[next] ? OTHER[next] : next;
    turns.push(side);
    got[side] += 1;
  }
  return turns;
}

/** Whether young may still come of eggs that a side has. Of how many eggs a lot came nobody knows any more. */
function mayHatch(model: Model, { from, to }: Transfer, clutch: Clutch): boolean {
  const eggs = Array.from({ length: clutch.count }, (_, i) => i + 1).filter(
    (egg) => [from, to].includes(eggHolder(clutch, egg)) && isLiving(clutch, egg),
  );
  const unnamed = clutch.young.filter(({ egg }) => egg === null);
  if (unnamed.some(({ animal }) => model.animals.get(animal)?.kind === 'lot')) return false;
  return eggs.length - unnamed.length > 0;
}

function pick(
  model: Model,
  loan: Transfer,
  { by, clutch: id, animals }: Extract<LoanCommand, { do: 'pickYoung' }>,
): Forecast {
  const young = animals.flatMap((animal) => model.animals.get(animal) ?? []);
  const clutch = model.clutches.get(id);
  if (clutch?.loan !== loan.id || young.length < animals.length) return no('NOT_FOUND');
  if (young.some((each) => each.young?.clutch !== id)) return no('NOT_FOUND');
  const sides = (['lender', 'borrower'] as const).filter((side) => model.heads(by, keeperOf(loan, side)));
  if (sides.length === 0) return no('FORBIDDEN');
  if (loan.loan?.split?.first === undefined) return no('LOAN_YOUNG_SHARED');
  const fault = young.map((each) => youngFault(model, each)).find((each) => each !== null);
  if (fault !== undefined) return no(fault);
  const { turns, waits } = turnsOf(model, loan, id);
  const [side] = turns;
  if (side === undefined) return no(waits ? 'LOAN_ODD_ONE_WAITS' : 'LOAN_PICK_NOT_YOURS');
  if (!sides.includes(side)) return no('LOAN_PICK_NOT_YOURS');
  const row = turns.findIndex((turn) => turn !== side);
  if (young.length > (row === -1 ? turns.length : row)) return no('LOAN_PICK_TOO_MANY');
  const keeper = keeperOf(loan, side);
  const guardian = guardianFault(model, by, keeper);
  if (guardian !== null) return no(guardian);
  return yes(() => {
    for (const each of young) {
      if (each.young !== null) each.young.pickedBy = side;
      model.own(each, new Map([[keeper, 1]]), TODAY);
    }
  });
}

function youngFault(model: Model, animal: Animal): string | null {
  if (animal.young?.pickedBy !== null) return 'LOAN_YOUNG_PICKED';
  if (dividedBy(model, animal) === null) return 'LOAN_YOUNG_NOT_OF_BOTH';
  if (owned(animal).disputed) return 'TRANSFER_OWNER_DISPUTED';
  if (animal.kind === 'lot') return 'LOAN_YOUNG_IS_LOT';
  return animal.fate === 'alive' ? null : 'LOAN_YOUNG_GONE';
}
