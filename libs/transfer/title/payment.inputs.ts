import { Field, ID, InputType, Int } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';

@InputType({ description: 'A part of one whole animal: 1 of 2 is a half.' })
export class AnimalShareInput {
  @Field(() => Int)
  parts!: number;

  @Field(() => Int, { description: 'How many parts the whole has, at most 1,000.' })
  of!: number;
}

@InputType()
export class InstalmentInput {
  @Field(() => DayType)
  dueOn!: Day;

  @Field(() => Int, { description: 'In minor units of the price.' })
  minor!: number;
}

@InputType()
export class DeclarePaymentInput {
  @Field(() => ID)
  transferId!: string;

  @Field(() => Int, { description: 'In minor units of the price’s currency.' })
  minor!: number;

  @Field(() => DayType, { description: 'The day it was paid; not in the future.' })
  paidOn!: Day;

  @Field(() => String, { nullable: true, description: 'For the two parties only.' })
  note?: string | null;
}

@InputType()
export class ConfirmPaymentInput {
  @Field(() => ID)
  paymentId!: string;

  @Field(() => String, { nullable: true, description: 'For the two parties only.' })
  note?: string | null;
}

@InputType()
export class QuestionPaymentInput extends ConfirmPaymentInput {}
