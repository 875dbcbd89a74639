import { Field, Float, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type LoanTerms } from './loan-terms.core.js';

export enum LoanSideType {
  lender = 'lender',
  borrower = 'borrower',
}
registerEnumType(LoanSideType, {
  name: 'LoanSide',
  description: 'The giver of a breeding loan lends, its receiver borrows.',
});

export enum LoanCostBearerType {
  lender = 'lender',
  borrower = 'borrower',
  shared = 'shared',
}
registerEnumType(LoanCostBearerType, { name: 'LoanCostBearer' });

export enum LoanDeathType {
  nothing_due = 'nothing_due',
  value_due = 'value_due',
}
registerEnumType(LoanDeathType, {
  name: 'LoanDeathTerm',
  description:
    'What the two agreed for an animal that dies with the borrower. A statement: the registry moves no money.',
});

export enum YoungSplitMethodType {
  by_turns = 'by_turns',
  shared = 'shared',
}
registerEnumType(YoungSplitMethodType, {
  name: 'YoungSplitMethod',
  description: 'by_turns: one after the other is picked. shared: each is owned by both in the agreed parts.',
});

export enum OddYoungType {
  alternates = 'alternates',
  lender = 'lender',
  borrower = 'borrower',
  paid_out = 'paid_out',
}
registerEnumType(OddYoungType, {
  name: 'OddYoung',
  description:
    'Who has the one left over when the young of a clutch do not divide evenly. alternates: from clutch to clutch. paid_out: the borrower, who owes the other side its part.',
});

export enum YoungBredByType {
  lender = 'lender',
  borrower = 'borrower',
  both = 'both',
}
registerEnumType(YoungBredByType, { name: 'YoungBredBy' });

@ObjectType('LoanValue', { description: 'What an animal counts for.' })
export class LoanValueType {
  @Field(() => Float, {
    description: 'Whole minor units, cents for EUR. For many animals it can be more than an Int holds.',
  })
  minor!: number;

  @Field(() => String, { description: 'ISO 4217.' })
  currency!: string;
}

@ObjectType('YoungSplit', { description: 'How the young of a loan are divided.' })
export class YoungSplitType {
  @Field(() => YoungSplitMethodType)
  method!: YoungSplitMethodType;

  @Field(() => Int, { description: 'The lender’s part, of `ofParts`; the borrower has the rest.' })
  lenderParts!: number;

  @Field(() => Int)
  ofParts!: number;

  @Field(() => LoanSideType, { nullable: true, description: 'Of turns.' })
  firstPick!: LoanSideType | null;

  @Field(() => OddYoungType, { nullable: true, description: 'Of turns.' })
  oddOne!: OddYoungType | null;
}

@ObjectType('LoanTerms', {
  description: 'What was agreed about a breeding loan with its offer; it does not change. Null was left open.',
})
export class LoanTermsType {
  @Field(() => Int, {
    nullable: true,
    description: 'Days the borrower has once the lender calls the animals back; null: by agreement only.',
  })
  recallDays!: number | null;

  @Field(() => LoanCostBearerType, { nullable: true, description: 'Who pays for feeding and keeping.' })
  keepCosts!: LoanCostBearerType | null;

  @Field(() => LoanCostBearerType, { nullable: true, description: 'Who pays the veterinarian.' })
  vetCosts!: LoanCostBearerType | null;

  @Field(() => LoanDeathType, { nullable: true, description: 'What is due for an animal that dies.' })
  onDeath!: LoanDeathType | null;

  @Field(() => LoanValueType, {
    nullable: true,
    description: 'What is due for each animal that dies. Not told to helpers of a keeper.',
  })
  value!: LoanValueType | null;

  @Field(() => YoungSplitType, { nullable: true })
  youngSplit!: YoungSplitType | null;

  @Field(() => YoungBredByType, {
    nullable: true,
    description:
      'Of a dam on loan: whose breeding the young are said to be, the owner of the dam at mating when left open. Of a sire it changes nothing.',
  })
  youngBredBy!: YoungBredByType | null;
}

@InputType()
export class LoanValueInput {
  @Field(() => Int, { description: 'In minor units, cents for EUR.' })
  minor!: number;

  @Field(() => String, { description: 'ISO 4217.' })
  currency!: string;
}

@InputType()
export class YoungSplitInput {
  @Field(() => YoungSplitMethodType)
  method!: YoungSplitMethodType;

  @Field(() => Int, { description: 'The lender’s part, 0 to `ofParts`.' })
  lenderParts!: number;

  @Field(() => Int, { description: '1 to 100.' })
  ofParts!: number;

  @Field(() => LoanSideType, { nullable: true, description: 'Of turns, and needed there.' })
  firstPick?: LoanSideType | null;

  @Field(() => OddYoungType, { nullable: true, description: 'Of turns, and needed there.' })
  oddOne?: OddYoungType | null;
}

@InputType()
export class LoanTermsInput {
  @Field(() => Int, { nullable: true, description: '0 to 365; without it the day changes by agreement only.' })
  recallDays?: number | null;

  @Field(() => LoanCostBearerType, { nullable: true })
  keepCosts?: LoanCostBearerType | null;

  @Field(() => LoanCostBearerType, { nullable: true })
  vetCosts?: LoanCostBearerType | null;

  @Field(() => LoanDeathType, { nullable: true })
  onDeath?: LoanDeathType | null;

  @Field(() => LoanValueInput, { nullable: true, description: 'For value_due, and needed there: for each animal.' })
  value?: LoanValueInput | null;

  @Field(() => YoungSplitInput, { nullable: true })
  youngSplit?: YoungSplitInput | null;

  @Field(() => YoungBredByType, { nullable: true, description: 'Of a dam on loan; of a sire it changes nothing.' })
  youngBredBy?: YoungBredByType | null;
}

/** GraphQL form of the terms, for a party of the loan; the amount only for whoever reads prices. */
export function toLoanTermsType(terms: LoanTerms | null, showsAmounts: boolean): LoanTermsType | null {
  if (terms === null) return null;
  const { recallDays, keepCosts, vetCosts, onDeath, value, youngSplit, youngBredBy } = terms;
  return {
    recallDays,
    keepCosts: keepCosts === null ? null : LoanCostBearerType[keepCosts],
    vetCosts: vetCosts === null ? null : LoanCostBearerType[vetCosts],
    onDeath: onDeath === null ? null : LoanDeathType[onDeath],
    value: showsAmounts ? value : null,
    youngBredBy: youngBredBy === null ? null : YoungBredByType[youngBredBy],
    youngSplit:
      youngSplit === null
        ? null
        : {
            lenderParts: youngSplit.lenderParts,
            ofParts: youngSplit.ofParts,
            method: YoungSplitMethodType[youngSplit.method],
            firstPick: youngSplit.firstPick === null ? null : LoanSideType[youngSplit.firstPick],
            oddOne: youngSplit.oddOne === null ? null : OddYoungType[youngSplit.oddOne],
          },
  };
}
