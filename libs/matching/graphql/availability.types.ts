import { Field, ID, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType } from '../../animal/index.js';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';

export enum BreedingOfferType {
  loan = 'loan',
  exchange = 'exchange',
  sale = 'sale',
  gift = 'gift',
}
registerEnumType(BreedingOfferType, {
  name: 'BreedingOffer',
  description: 'How a holder would part with an animal for breeding.',
});

@ObjectType('BreedingAvailability', { description: 'What the holder says of an animal as a mate for others.' })
export class BreedingAvailabilityType {
  @Field(() => Boolean)
  open!: boolean;

  @Field(() => DayType, { nullable: true, description: 'The last day on which it holds.' })
  until!: Day | null;

  @Field(() => [BreedingOfferType])
  offers!: BreedingOfferType[];
}

@InputType()
export class SetBreedingAvailabilityInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => Boolean, { nullable: true, description: 'Null or left out takes back what was said.' })
  open?: boolean | null;

  @Field(() => DayType, { nullable: true, description: 'The last day on which it holds; no end when left out.' })
  until?: Day | null;

  @Field(() => [BreedingOfferType], {
    nullable: true,
    description: 'How you would part with it; shown to those who have or own it only.',
  })
  offers?: BreedingOfferType[] | null;
}

@ObjectType()
export class SetBreedingAvailabilityPayload {
  @Field(() => AnimalType)
  animal!: AnimalType;
}
