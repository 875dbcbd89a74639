import { addDays, compareDays, type Day, dayOf, type Decision, decide, refuse } from '../../kernel/index.js';
import { type TransferState } from '../core/transfer.core.js';
import { type LoanSide } from './loan-terms.core.js';

/**
 * Most asks and recalls of one side of a loan, so that neither uses up what the other has: one a month for four years. A convention of
 * this registry.
 */
export const MAX_LOAN_DAYS = 50;

/**
 * How an ask for another last day ended; `recalled`: the lender's own act, which asks nobody; `ended_by_recall`: an ask that waited
 * then, of either side.
 */
export const LOAN_DAY_OUTCOMES = ['agreed', 'declined', 'withdrawn', 'recalled', 'ended_by_recall'] as const;

/** An ask for another last day of a loan, or a recall. `outcome` is null while it waits for an answer. */
export type LoanDayChange = {
  readonly id: string;
  readonly askedBy: LoanSide;
  readonly askedAt: Date;
  readonly dueBack: Day;
  readonly dueBackBefore: Day;
  readonly answeredAt: Date | null;
  readonly outcome: (typeof LOAN_DAY_OUTCOMES)[number] | null;
};

/** What decisions about a loan take, read under lock. `out`: how many records the borrower has to give back. */
export type Loan = {
  readonly transferId: string;
  readonly kind: string;
  readonly state: TransferState;
  readonly dueBack: Day | null;
  readonly recallDays: number | null;
  readonly out: number;
  readonly days: readonly LoanDayChange[];
};

/**
 * `agreed`: nothing is with the borrower yet. `over`: it has nothing to give back any more: all went home, died, or changed its
 * owner. What was lost out of its keeping it still owes.
 */
export const LOAN_STATES = ['agreed', 'open', 'overdue', 'over'] as const;
export type LoanState = (typeof LOAN_STATES)[number];

type Clock = { readonly now: Date; readonly today: Day };

/** Where a loan stands; null for a transfer that is none, was not accepted, or came to nothing. */
export function loanStateOn({ kind, state, dueBack, out }: Omit<Loan, 'days'>, today: Day): LoanState | null {
  const accepted = state === 'accepted' || state === 'sent' || state === 'received';
  if (kind !== 'breeding_loan' || dueBack === null || !accepted) return null;
  if (out > 0) return compareDays(dueBack, today) < 0 ? 'overdue' : 'open';
  return state === 'received' ? 'over' : 'agreed';
}

/** One side asks for another last day, later or earlier. Nothing changes before the other agrees. */
export function askExtension(
  loan: Loan,
  ask: { readonly id: string; readonly by: LoanSide; readonly dueBack: Day },
  clock: Clock,
): Decision<LoanDayChange> {
  const now = underWay(loan, clock.today);
  if (!now.ok) return now;
  if (openAsk(loan) !== null)
    return refuse('LOAN_DAY_ASKED', 'Another last day is asked for already. It is answered or withdrawn first.');
  const change = newChange(loan, now.value, ask, clock);
  if (!change.ok) return change;
  return decide({ ...change.value, answeredAt: null, outcome: null });
}

/** The other side agrees to the day, or not. A day that has passed since it was asked for can only be declined. */
export function answerExtension(loan: Loan, id: string, agrees: boolean, clock: Clock): Decision<LoanDayChange> {
  const now = underWay(loan, clock.today);
  if (!now.ok) return now;
  const ask = waiting(loan, id);
  if (!ask.ok) return ask;
  if (agrees && compareDays(ask.value.dueBack, clock.today) < 0) return pastDay(ask.value.dueBack, clock.today);
  return decide({ ...ask.value, answeredAt: clock.now, outcome: agrees ? 'agreed' : 'declined' });
}

/** Whoever asked takes the ask back, also when the loan is over. */
export function withdrawExtension(loan: Loan, id: string, clock: Clock): Decision<LoanDayChange> {
  const ask = waiting(loan, id);
  return ask.ok ? decide({ ...ask.value, answeredAt: clock.now, outcome: 'withdrawn' }) : ask;
}

/** A recall, and the ask that it ends. */
export type Recall = { readonly recall: LoanDayChange; readonly ended: LoanDayChange | null };

/** The lender calls back what is with the borrower, for a day the terms allow: at least so many days from today. */
export function recallLoan(
  loan: Loan,
  { id, dueBack }: { readonly id: string; readonly dueBack: Day },
  clock: Clock,
): Decision<Recall> {
  const now = underWay(loan, clock.today);
  if (!now.ok) return now;
  if (loan.out === 0)
    return refuse(
      'LOAN_NOT_BEGUN',
      'Nothing is with the borrower yet. Cancel the transfer, or ask for another last day.',
    );
  if (loan.recallDays === null)
    return refuse(
      'LOAN_RECALL_NOT_AGREED',
      'The terms of this loan have no recall. Ask the borrower for an earlier last day with askLoanExtension.',
    );
  const earliest = addDays(clock.today, loan.recallDays);
  if (compareDays(earliest, now.value) >= 0)
    return refuse(
      'LOAN_RECALL_LATE',
      `The terms give the borrower ${loan.recallDays} days, until ${earliest}, and the animals are due back by ${now.value} anyway.`,
    );
  if (compareDays(dueBack, earliest) < 0) {
    const message = `The terms give the borrower ${loan.recallDays} days, so ${dueBack} is too soon.`;
    const remedy = `Write ${earliest} or a later day.`;
    return refuse('LOAN_RECALL_TOO_SOON', `${message} ${remedy}`, {
      fields: [{ path: 'input.dueBack', message, remedy }],
    });
  }
  if (compareDays(dueBack, now.value) >= 0) {
    const message = `The animals are due back by ${now.value} already.`;
    const remedy = 'Write an earlier day; for a later one ask the borrower with askLoanExtension.';
    return refuse('LOAN_RECALL_LATE', `${message} ${remedy}`, { fields: [{ path: 'input.dueBack', message, remedy }] });
  }
  const change = newChange(loan, now.value, { id, by: 'lender', dueBack }, clock);
  if (!change.ok) return change;
  const ask = openAsk(loan);
  return decide({
    recall: { ...change.value, answeredAt: clock.now, outcome: 'recalled' },
    ended: ask === null ? null : { ...ask, answeredAt: clock.now, outcome: 'ended_by_recall' },
  });
}

/** The last day of the loan as it stood at the end of a day. */
export function dueBackAsOf({ dueBack, days }: { dueBack: Day; days: readonly LoanDayChange[] }, on: Day): Day {
  const moved = days.filter(({ outcome }) => outcome === 'agreed' || outcome === 'recalled');
  const inOrder = moved.toSorted((a, b) => timeOf(a) - timeOf(b));
  const last = inOrder.findLast(({ answeredAt }) => answeredAt !== null && compareDays(dayOf(answeredAt), on) <= 0);
  return last?.dueBack ?? inOrder[0]?.dueBackBefore ?? dueBack;
}

/** The ask that waits for its answer. */
export function openAsk({ days }: Pick<Loan, 'days'>): LoanDayChange | null {
  return days.find(({ outcome }) => outcome === null) ?? null;
}

const timeOf = ({ answeredAt }: LoanDayChange): number => answeredAt?.getTime() ?? 0;

/** The last day in force of a loan that is not over. */
function underWay(loan: Loan, today: Day): Decision<Day> {
  const state = loanStateOn(loan, today);
  if (state === null || loan.dueBack === null)
    return refuse('LOAN_NOT_AGREED', 'This transfer is no breeding loan that was accepted.');
  if (state === 'over')
    return refuse('LOAN_OVER', 'The loan is over: the borrower has nothing of it to give back any more.');
  return decide(loan.dueBack);
}

function waiting(loan: Loan, id: string): Decision<LoanDayChange> {
  const found = loan.days.find((change) => change.id === id && change.outcome === null);
  return found === undefined
    ? refuse('LOAN_DAY_ANSWERED', 'This ask for another last day was answered or withdrawn already.')
    : decide(found);
}

function newChange(
  loan: Loan,
  dueBackBefore: Day,
  { id, by, dueBack }: { readonly id: string; readonly by: LoanSide; readonly dueBack: Day },
  { now, today }: Clock,
): Decision<Pick<LoanDayChange, 'id' | 'askedBy' | 'askedAt' | 'dueBack' | 'dueBackBefore'>> {
  if (compareDays(dueBack, today) < 0) return pastDay(dueBack, today);
  if (dueBack === dueBackBefore) {
    const message = `${dueBack} is the last day already.`;
    const remedy = 'Write another day.';
    return refuse('LOAN_DAY_SAME', `${message} ${remedy}`, { fields: [{ path: 'input.dueBack', message, remedy }] });
  }
  if (loan.days.filter(({ askedBy }) => askedBy === by).length >= MAX_LOAN_DAYS)
    return refuse('LOAN_DAYS_TOO_MANY', `The ${by} asked for another day ${MAX_LOAN_DAYS} times. Agree on a new loan.`);
  return decide({ id, askedBy: by, askedAt: now, dueBack, dueBackBefore });
}

function pastDay(dueBack: Day, today: Day): Decision<never> {
  const message = `${dueBack} is over.`;
  const remedy = `Ask for ${today} or a later day.`;
  return refuse('LOAN_DAY_PAST', `${message} ${remedy}`, { fields: [{ path: 'input.dueBack', message, remedy }] });
}
