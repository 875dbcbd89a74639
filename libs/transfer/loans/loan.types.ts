import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { addDays, type Day, dayOf, speaksFor, type Viewer } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { TransferStepInput } from '../graphql/transfer.inputs.js';
import { TransferType } from '../graphql/transfer.types.js';
import { dueBackAsOf, type LoanDayChange, loanStateOn, openAsk } from './loan-day.core.js';
import { LoanDeathType, LoanSideType, LoanValueType } from './loan-terms.types.js';
import { type LoanFacts } from './loan.store.js';

export enum LoanStateType {
  agreed = 'agreed',
  open = 'open',
  overdue = 'overdue',
  over = 'over',
}
registerEnumType(LoanStateType, {
  name: 'LoanState',
  description:
    'agreed: nothing is with the borrower yet. overdue: something is not given back after the last day. over: nothing is left to give back.',
});

export enum LoanDayOutcomeType {
  agreed = 'agreed',
  declined = 'declined',
  withdrawn = 'withdrawn',
  recalled = 'recalled',
  ended_by_recall = 'ended_by_recall',
}
registerEnumType(LoanDayOutcomeType, {
  name: 'LoanDayOutcome',
  description:
    'recalled: the lender called the animals back, as the terms allow; nobody was asked. ended_by_recall: an ask that waited then.',
});

@ObjectType('LoanDayChange', { description: 'An ask for another last day of a loan, or a recall.' })
export class LoanDayChangeType {
  @Field(() => ID)
  id!: string;

  @Field(() => LoanSideType)
  askedBy!: LoanSideType;

  @Field(() => Date)
  askedAt!: Date;

  @Field(() => DayType, { description: 'The day that was asked for.' })
  dueBack!: Day;

  @Field(() => DayType, { description: 'The day in force then.' })
  dueBackBefore!: Day;

  @Field(() => Date, { nullable: true })
  answeredAt!: Date | null;

  @Field(() => LoanDayOutcomeType, { nullable: true, description: 'Null while it waits for an answer.' })
  outcome!: LoanDayOutcomeType | null;
}

@ObjectType('LoanDeath', {
  description:
    'What died with the borrower, and what is due for it by the terms. A statement: the registry moves no money.',
})
export class LoanDeathFactType {
  @Field(() => ID)
  animalId!: string;

  @Field(() => DayType)
  on!: Day;

  @Field(() => Int, { description: 'Of a lot: how many that day.' })
  count!: number;

  @Field(() => LoanDeathType, { nullable: true, description: 'Null where the terms leave it open.' })
  due!: LoanDeathType | null;

  @Field(() => LoanValueType, { nullable: true, description: 'For all of `count`. Not told to helpers of a keeper.' })
  value!: LoanValueType | null;
}

@ObjectType('LoanViewerCan', { description: 'What the viewer may do, and can do now.' })
export class LoanViewerCanType {
  @Field(() => Boolean)
  ask!: boolean;

  @Field(() => Boolean)
  answer!: boolean;

  @Field(() => Boolean)
  withdraw!: boolean;

  @Field(() => Boolean, { description: 'The terms have a recall, and it would come before the last day.' })
  recall!: boolean;
}

@ObjectType('Loan', { description: 'A breeding loan that was accepted. Visible to its two parties only.' })
export class LoanType {
  @Field(() => TransferType)
  transfer!: TransferType;

  @Field(() => LoanStateType)
  state!: LoanStateType;

  @Field(() => DayType, { description: 'The last day for the animals to come back.' })
  dueBack!: Day;

  @Field(() => Int, { description: 'How many animals and lots the borrower has to give back, those it lost included.' })
  out!: number;

  @Field(() => [LoanDayChangeType], { description: 'In the order they were asked for, at most 100.' })
  days!: LoanDayChangeType[];

  @Field(() => [LoanDeathFactType], { description: 'In the order of their days, the last 100.' })
  deaths!: LoanDeathFactType[];

  @Field(() => LoanViewerCanType)
  viewerCan!: LoanViewerCanType;

  history!: readonly LoanDayChange[];
}

export const LoanConnection = Connection(LoanType, 'Loan');

/** Most deaths shown of one loan. */
const MAX_DEATHS = 100;

/** GraphQL form of a loan, from its transfer as the viewer sees it; null for a transfer that is none. */
export function toLoanType(viewer: Viewer, transfer: TransferType, facts: LoanFacts, today: Day): LoanType | null {
  const { dueBack, loanTerms } = transfer;
  const recallDays = loanTerms?.recallDays ?? null;
  const loan = { kind: transfer.kind, state: transfer.state, transferId: transfer.id, dueBack, recallDays };
  const out = facts.out.length;
  const state = loanStateOn({ ...loan, out }, today);
  if (state === null || dueBack === null) return null;
  const sides = {
    lender: speaksFor(viewer, transfer.from.keeperId),
    borrower: speaksFor(viewer, transfer.to.keeperId),
  };
  const ask = openAsk(facts);
  const asked = ask === null || state === 'over' ? null : ask.askedBy;
  return {
    transfer,
    state: LoanStateType[state],
    dueBack,
    out,
    history: facts.days,
    days: facts.days.map(({ askedBy, outcome, ...rest }) => ({
      ...rest,
      askedBy: LoanSideType[askedBy],
      outcome: outcome === null ? null : LoanDayOutcomeType[outcome],
    })),
    deaths: facts.deaths.slice(-MAX_DEATHS).map((death) => ({
      ...death,
      due: loanTerms?.onDeath ?? null,
      value: valueOf(loanTerms?.value ?? null, death.count),
    })),
    viewerCan: {
      ask: state !== 'over' && ask === null && (sides.lender || sides.borrower),
      answer: asked !== null && sides[asked === 'lender' ? 'borrower' : 'lender'],
      withdraw: ask !== null && sides[ask.askedBy],
      recall: sides.lender && state === 'open' && recallDays !== null && addDays(today, recallDays) < dueBack,
    },
  };
}

function valueOf(value: LoanValueType | null, count: number): LoanValueType | null {
  return value === null ? null : { minor: value.minor * count, currency: value.currency };
}

/** The last day as of a day; null before the loan was offered. */
export function dueBackOn({ transfer, dueBack, history }: LoanType, on: Day): Day | null {
  return on < dayOf(transfer.offeredAt) ? null : dueBackAsOf({ dueBack, days: history }, on);
}

@InputType()
export class AskLoanExtensionInput extends TransferStepInput {
  @Field(() => DayType, { description: 'The last day asked for, later or earlier than the one in force.' })
  dueBack!: Day;
}

@InputType()
export class AnswerLoanExtensionInput {
  @Field(() => ID, { description: 'Of the ask, as `Loan.days` gives it.' })
  extensionId!: string;

  @Field(() => Boolean)
  agree!: boolean;
}

@InputType()
export class WithdrawLoanExtensionInput {
  @Field(() => ID, { description: 'Of the ask, as `Loan.days` gives it.' })
  extensionId!: string;
}

@InputType()
export class RecallLoanInput extends TransferStepInput {
  @Field(() => DayType, { description: 'The new last day: at least the days of the terms from today.' })
  dueBack!: Day;
}

@ObjectType()
export class AskLoanExtensionPayload {
  @Field(() => TransferType)
  transfer!: TransferType;
}

@ObjectType()
export class AnswerLoanExtensionPayload extends AskLoanExtensionPayload {}

@ObjectType()
export class WithdrawLoanExtensionPayload extends AskLoanExtensionPayload {}

@ObjectType()
export class RecallLoanPayload extends AskLoanExtensionPayload {}
