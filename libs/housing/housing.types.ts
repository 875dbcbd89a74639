import { Field, ID, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type Day } from '../kernel/index.js';
import { Connection, DayType } from '../platform/graphql/index.js';

export enum KnownAnswerType {
  yes = 'yes',
  no = 'no',
  unknown = 'unknown',
}
registerEnumType(KnownAnswerType, { name: 'KnownAnswer' });

@ObjectType('Enclosure', { description: 'Where an own keeper keeps animals. Seen by that keeper only.' })
export class EnclosureType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  name!: string;

  @Field(() => KnownAnswerType, { description: 'Whether it keeps animals, eggs and gametes in and out.' })
  controlled!: KnownAnswerType;

  @Field(() => DayType, { nullable: true })
  controlledSince!: Day | null;
}

export const EnclosureConnection = Connection(EnclosureType, 'Enclosure');

@InputType()
export class RecordEnclosureInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => String)
  name!: string;

  @Field(() => KnownAnswerType, {
    nullable: true,
    description: 'Whether it keeps animals, eggs and gametes in and out; unknown when left out.',
  })
  controlled?: KnownAnswerType | null;

  @Field(() => DayType, { nullable: true, description: 'Since when it is controlled; always so when left out.' })
  controlledSince?: Day | null;
}

@ObjectType()
export class RecordEnclosurePayload {
  @Field(() => EnclosureType)
  enclosure!: EnclosureType;
}

@InputType()
export class PlaceAnimalsInput {
  @Field(() => ID)
  enclosureId!: string;

  @Field(() => [ID], { description: 'At most 100.' })
  animalIds!: string[];

  @Field(() => DayType, { nullable: true, description: 'Today when left out.' })
  from?: Day | null;
}

@ObjectType()
export class PlaceAnimalsPayload {
  @Field(() => EnclosureType)
  enclosure!: EnclosureType;
}
