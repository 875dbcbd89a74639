import { Field, ID, InputType, Int, ObjectType } from '@nestjs/graphql';
import { formatRegisterNumber, type Day, type RegisterNumber } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { type LoanSide } from '../loans/loan-terms.core.js';
import { LoanSideType } from '../loans/loan-terms.types.js';
import { type LoanYoungRow } from './split.store.js';
import { type ClutchSplit, picksInARow } from './split-state.core.js';

@ObjectType('LoanClutch', {
  description: 'A clutch whose young are divided by the terms of a loan. For the two parties of the loan.',
})
export class LoanClutchType {
  @Field(() => ID)
  clutchId!: string;

  @Field(() => Int, { description: 'From 1, in the order in which the clutches of the loan had young.' })
  number!: number;

  @Field(() => Int, { description: 'Young that can be picked: alive, no lot, the property of both.' })
  undivided!: number;

  @Field(() => Int)
  pickedByLender!: number;

  @Field(() => Int)
  pickedByBorrower!: number;

  @Field(() => Int, {
    nullable: true,
    description: 'How many the lender has in the end, of those alive or picked now; null where nobody picks.',
  })
  dueToLender!: number | null;

  @Field(() => Int, { nullable: true, description: 'The same of the borrower.' })
  dueToBorrower!: number | null;

  @Field(() => LoanSideType, { nullable: true, description: 'Who has the one that is over; null when none is.' })
  oddOne!: LoanSideType | null;

  @Field(() => Boolean, {
    description:
      'The borrower keeps the one that is over and owes the lender its part. A statement: the registry moves no money.',
  })
  oddOnePaidOut!: boolean;

  @Field(() => Boolean, {
    description: 'The one that is over is picked once no egg is left that may hatch, and no lot to raise young out of.',
  })
  oddOneWaits!: boolean;

  @Field(() => LoanSideType, { nullable: true, description: 'Whose turn it is to pick; null while nobody can.' })
  turn!: LoanSideType | null;

  @Field(() => Int, { description: 'How many that side picks before the other does.' })
  picksInARow!: number;
}

export const LoanClutchConnection = Connection(LoanClutchType, 'LoanClutch');

@ObjectType('LoanYoung', { description: 'One of the young of a clutch of a loan, or a lot of them.' })
export class LoanYoungType {
  @Field(() => ID)
  animalId!: string;

  @Field(() => String)
  registerNumber!: string;

  @Field(() => Boolean, { description: 'A lot is not picked; individuals raised out of it are.' })
  isLot!: boolean;

  @Field(() => Boolean, { description: 'Whether a side can still pick it.' })
  undivided!: boolean;

  @Field(() => LoanSideType, { nullable: true })
  pickedBy!: LoanSideType | null;

  @Field(() => Int, { nullable: true, description: 'From 1, in the order of the picks of the clutch.' })
  pickNumber!: number | null;

  @Field(() => DayType, { nullable: true })
  pickedOn!: Day | null;
}

export const LoanYoungConnection = Connection(LoanYoungType, 'LoanYoung');

@InputType()
export class PickYoungInput {
  @Field(() => ID, { description: 'The loan.' })
  transferId!: string;

  @Field(() => ID)
  clutchId!: string;

  @Field(() => [ID], { description: 'As many as the side has picks in a row, in this order; 1 to 100.' })
  animalIds!: string[];
}

@ObjectType()
export class PickYoungPayload {
  @Field(() => LoanClutchType)
  clutch!: LoanClutchType;
}

const sideOf = (side: LoanSide | null): LoanSideType | null => (side === null ? null : LoanSideType[side]);

/** GraphQL form of a clutch of a loan. `paidOut`: by the terms the borrower keeps the one that is over and owes for it. */
export function toLoanClutchType(clutch: ClutchSplit, paidOut: boolean): LoanClutchType {
  const { clutchId, number, undivided, picked, split, turns, oddOneWaits } = clutch;
  const [turn = null] = turns;
  return {
    clutchId,
    number,
    undivided,
    pickedByLender: picked.lender,
    pickedByBorrower: picked.borrower,
    dueToLender: split?.lender ?? null,
    dueToBorrower: split?.borrower ?? null,
    oddOne: sideOf(split?.odd ?? null),
    oddOnePaidOut: paidOut && split !== null && split.odd !== null,
    oddOneWaits,
    turn: sideOf(turn),
    picksInARow: turn === null ? 0 : picksInARow(turns, turn),
  };
}

/** GraphQL form of one of the young. */
export function toLoanYoungType({ kind, registerNumber, pickedBy, ...young }: LoanYoungRow): LoanYoungType {
  return {
    animalId: young.animalId,
    registerNumber: formatRegisterNumber(registerNumber as RegisterNumber),
    isLot: kind === 'lot',
    undivided: young.undivided,
    pickedBy: sideOf(pickedBy),
    pickNumber: young.pickNumber,
    pickedOn: young.pickedOn,
  };
}
