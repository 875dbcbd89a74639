import { Field, ID, InputType, Int, ObjectType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';
import { type TransferEgg } from '../core/transfer.core.js';
import { ArrivalStateType } from '../graphql/transfer.enums.js';

@ObjectType('TransferEgg')
export class TransferEggType {
  @Field(() => Int, { description: 'Its number in the clutch.' })
  number!: number;

  @Field(() => ArrivalStateType, { nullable: true, description: 'Null until received. dead: it has failed.' })
  arrival!: ArrivalStateType | null;

  @Field(() => DayType, { nullable: true })
  receivedOn!: Day | null;

  @Field(() => Boolean, { description: 'The giver says that it was left out of what was sent.' })
  notSent!: boolean;
}

@ObjectType('TransferEggs', {
  description:
    'Eggs of one clutch that go along. Eggs are no animals: no stock book counts them. Turning an egg of a reptile can kill the embryo: keep the marked side up.',
})
export class TransferEggsType {
  @Field(() => ID)
  clutchId!: string;

  @Field(() => [TransferEggType], { description: 'At most 200.' })
  eggs!: TransferEggType[];
}

@InputType()
export class OfferEggsInput {
  @Field(() => ID)
  clutchId!: string;

  @Field(() => [Int], { nullable: true, description: 'Which eggs; or say how many, or neither for all that are left.' })
  numbers?: number[] | null;

  @Field(() => Int, { nullable: true, description: 'How many of those that are left: the lowest numbers are taken.' })
  count?: number | null;
}

@InputType()
export class TransferEggsInput {
  @Field(() => ID, { description: 'As the transfer names it.' })
  clutchId!: string;

  @Field(() => [Int])
  numbers!: number[];
}

@InputType()
export class ReceiveEggsInput extends TransferEggsInput {
  @Field(() => ArrivalStateType)
  state!: ArrivalStateType;
}

/** The eggs of a transfer by clutch. */
export function toEggsTypes(eggs: readonly TransferEgg[]): TransferEggsType[] {
  return [...new Set(eggs.map(({ clutchId }) => clutchId))].map((clutchId) => ({
    clutchId,
    eggs: eggs
      .filter((egg) => egg.clutchId === clutchId)
      .map(({ number, arrival, receivedOn, notSent }) => ({
        number,
        arrival: arrival === null ? null : ArrivalStateType[arrival],
        receivedOn,
        notSent,
      })),
  }));
}
