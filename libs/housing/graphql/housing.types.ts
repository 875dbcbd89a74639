import { Field, ID, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType, WarningType } from '../../animal/index.js';
import { type Day } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';

export enum KnownAnswerType {
  yes = 'yes',
  no = 'no',
  unknown = 'unknown',
}
registerEnumType(KnownAnswerType, { name: 'KnownAnswer' });

export enum EnclosureSettingType {
  indoor = 'indoor',
  outdoor = 'outdoor',
  unknown = 'unknown',
}
registerEnumType(EnclosureSettingType, { name: 'EnclosureSetting' });

@ObjectType('Enclosure', { description: 'Where an own keeper keeps animals. Seen by that keeper only.' })
export class EnclosureType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  name!: string;

  @Field(() => EnclosureSettingType)
  setting!: EnclosureSettingType;

  @Field(() => String, { nullable: true, description: 'The room, house or garden it stands in.' })
  room!: string | null;

  @Field(() => KnownAnswerType, { description: 'Whether it keeps animals, eggs and gametes in and out.' })
  controlled!: KnownAnswerType;

  @Field(() => DayType, { nullable: true })
  controlledSince!: Day | null;
}

export const EnclosureConnection = Connection(EnclosureType, 'Enclosure');

@ObjectType('Stay', {
  description: 'Days of an animal in an own enclosure. The day of a move belongs to the new place.',
})
export class StayType {
  @Field(() => ID)
  id!: string;

  @Field(() => DayType)
  from!: Day;

  @Field(() => DayType, { nullable: true, description: 'The day on which it left; null = it is there.' })
  until!: Day | null;

  /** Not part of the schema: what the field resolvers show. */
  animalId!: string;
  enclosureId!: string;
}

export const StayConnection = Connection(StayType, 'Stay');

@ObjectType('Companionship', { description: 'Days on which another animal was in the same own enclosure.' })
export class CompanionshipType {
  @Field(() => DayType)
  from!: Day;

  @Field(() => DayType, { nullable: true, description: 'The day on which it ended; null = they are together.' })
  until!: Day | null;

  /** Not part of the schema: what the field resolvers show. */
  animalId!: string;
  enclosureId!: string;
}

export const CompanionshipConnection = Connection(CompanionshipType, 'Companionship');

@InputType()
export class RecordEnclosureInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => String)
  name!: string;

  @Field(() => EnclosureSettingType, { nullable: true, description: 'Unknown when left out.' })
  setting?: EnclosureSettingType | null;

  @Field(() => String, { nullable: true, description: 'The room, house or garden it stands in.' })
  room?: string | null;

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

@InputType({ description: 'What is left out stays as it was.' })
export class UpdateEnclosureInput {
  @Field(() => ID)
  enclosureId!: string;

  @Field(() => String, { nullable: true })
  name?: string | null;

  @Field(() => EnclosureSettingType, { nullable: true })
  setting?: EnclosureSettingType | null;

  @Field(() => String, { nullable: true, description: 'Null clears it.' })
  room?: string | null;
}

@ObjectType()
export class UpdateEnclosurePayload {
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

  @Field(() => DayType, {
    nullable: true,
    description: 'The day on which they left again, for a stay that is over; left out: they are there still.',
  })
  until?: Day | null;
}

@ObjectType()
export class PlaceAnimalsPayload {
  @Field(() => EnclosureType)
  enclosure!: EnclosureType;

  @Field(() => [WarningType])
  warnings!: WarningType[];
}

@InputType({ description: 'What is left out stays as it was.' })
export class CorrectStayInput {
  @Field(() => ID)
  stayId!: string;

  @Field(() => String, { description: 'Why it is corrected.' })
  reason!: string;

  @Field(() => Boolean, { nullable: true, description: 'True: the animal was not there at all.' })
  takeBack?: boolean | null;

  @Field(() => DayType, { nullable: true })
  from?: Day | null;

  @Field(() => DayType, { nullable: true, description: 'The day on which it left; null = it is there still.' })
  until?: Day | null;

  @Field(() => ID, { nullable: true })
  enclosureId?: string | null;
}

@ObjectType()
export class CorrectStayPayload {
  @Field(() => ID, { nullable: true, description: 'The stay in force; null when it was taken back.' })
  stayId!: string | null;

  @Field(() => AnimalType, { nullable: true, description: 'The animal, where the viewer still sees it.' })
  animal!: AnimalType | null;
}
