import { Field, ID, Int, ObjectType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';
import { awaitsPayment, sumOf } from './payment.core.js';
import { type Payment, type Transfer } from '../core/transfer.core.js';
import { PaymentStateType } from '../graphql/transfer.enums.js';

@ObjectType('Instalment')
export class InstalmentType {
  @Field(() => DayType)
  dueOn!: Day;

  @Field(() => Int)
  minor!: number;
}

@ObjectType('TransferPayment', { description: 'What the receiver says it paid, and the giver’s answer.' })
export class PaymentType {
  @Field(() => ID)
  id!: string;

  @Field(() => Int)
  minor!: number;

  @Field(() => DayType)
  paidOn!: Day;

  @Field(() => PaymentStateType)
  state!: PaymentStateType;

  @Field(() => String, { nullable: true, description: 'Of the receiver.' })
  note!: string | null;

  @Field(() => String, { nullable: true, description: 'Of the giver.' })
  answerNote!: string | null;
}

@ObjectType('PaymentPlan', {
  description:
    'What is paid and what is left, where property waits for it. In minor units of the price. Not told to helpers.',
})
export class PaymentPlanType {
  @Field(() => [InstalmentType], { description: 'At most 24; empty when the price is due as a whole.' })
  instalments!: InstalmentType[];

  @Field(() => [PaymentType], { description: 'In the order they were declared, at most 100.' })
  payments!: PaymentType[];

  @Field(() => Int)
  confirmed!: number;

  @Field(() => Int, { description: 'Of the price, what is not confirmed.' })
  left!: number;

  @Field(() => DayType, { nullable: true, description: 'The day on which property moved, or can move with custody.' })
  paidUpOn!: Day | null;

  @Field(() => Boolean, { description: 'False once it is paid up, or nothing is left that a payment could be for.' })
  awaited!: boolean;
}

/** The payments of a transfer for one of its parties; null where property does not wait for them. */
export function toPaymentPlan(transfer: Transfer): PaymentPlanType | null {
  if (transfer.title !== 'when_paid') return null;
  const confirmed = sumOf(transfer.payments, 'confirmed');
  return {
    instalments: [...transfer.instalments],
    payments: transfer.payments.map(toPaymentType),
    confirmed,
    left: (transfer.price?.minor ?? 0) - confirmed,
    paidUpOn: transfer.paidUpOn,
    awaited: awaitsPayment(transfer),
  };
}

function toPaymentType({ state, ...payment }: Payment): PaymentType {
  return { ...payment, state: PaymentStateType[state] };
}
