import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType } from '../../animal/index.js';
import { KnownAnswerType } from '../../housing/index.js';
import { type Day } from '../../kernel/index.js';
import { ParentageBasisType } from '../../lineage/index.js';
import { Connection, DayType, UncertainDayType } from '../../platform/graphql/index.js';

@ObjectType('Mating', { description: 'A mating, or a stay together in which one could happen.' })
export class MatingType {
  @Field(() => ID)
  id!: string;

  @Field(() => ParentageBasisType)
  basis!: ParentageBasisType;

  @Field(() => KnownAnswerType, { description: 'Whether it was in a controlled environment.' })
  controlled!: KnownAnswerType;

  @Field(() => UncertainDayType, { nullable: true })
  when!: UncertainDayType | null;

  /** Not part of the schema: whom the field resolvers show, where the viewer may see them. */
  damId!: string;
  sireId!: string | null;
}

@ObjectType('Clutch', { description: 'Eggs laid, or young born, at one time by one dam.' })
export class ClutchType {
  @Field(() => ID)
  id!: string;

  @Field(() => Int, { nullable: true })
  eggCount!: number | null;

  @Field(() => KnownAnswerType, { description: 'Whether it was laid in a controlled environment.' })
  controlled!: KnownAnswerType;

  @Field(() => UncertainDayType, { nullable: true, description: 'The days on which it can have been laid.' })
  laid!: UncertainDayType | null;

  @Field(() => DayType, { nullable: true })
  foundOn!: Day | null;
}

@ObjectType('Hatching', { description: 'How an animal or lot came out of a clutch.' })
export class HatchingType {
  @Field(() => ID)
  id!: string;

  @Field(() => KnownAnswerType, { description: 'Whether it was in a controlled environment.' })
  controlled!: KnownAnswerType;

  @Field(() => UncertainDayType, { nullable: true })
  when!: UncertainDayType | null;
}

export const MatingConnection = Connection(MatingType, 'Mating');
export const ClutchConnection = Connection(ClutchType, 'Clutch');

const CONTROLLED = 'Whether it was in a controlled environment; unknown when left out.';
const DAY = 'EDTF; null or left out = the day is not known.';

@InputType()
export class RecordMatingInput {
  @Field(() => ID)
  damId!: string;

  @Field(() => ID, { nullable: true })
  sireId?: string | null;

  @Field(() => String, { nullable: true, description: DAY })
  when?: string | null;

  @Field(() => KnownAnswerType, { nullable: true, description: CONTROLLED })
  controlled?: KnownAnswerType | null;

  @Field(() => ParentageBasisType, { nullable: true, description: 'How it is known; observed when left out.' })
  basis?: ParentageBasisType | null;
}

@ObjectType()
export class RecordMatingPayload {
  @Field(() => MatingType)
  mating!: MatingType;
}

@InputType()
export class RecordClutchInput {
  @Field(() => ID)
  damId!: string;

  @Field(() => String, { nullable: true, description: DAY })
  laid?: string | null;

  @Field(() => DayType, { nullable: true })
  foundOn?: Day | null;

  @Field(() => Int, { nullable: true })
  eggCount?: number | null;

  @Field(() => KnownAnswerType, { nullable: true, description: CONTROLLED })
  controlled?: KnownAnswerType | null;
}

@ObjectType()
export class RecordClutchPayload {
  @Field(() => ClutchType)
  clutch!: ClutchType;
}

@InputType()
export class RecordHatchingInput {
  @Field(() => ID)
  clutchId!: string;

  @Field(() => ID, { description: 'The animal or lot, already registered.' })
  animalId!: string;

  @Field(() => String, { nullable: true, description: DAY })
  when?: string | null;

  @Field(() => KnownAnswerType, { nullable: true, description: CONTROLLED })
  controlled?: KnownAnswerType | null;
}

@ObjectType()
export class RecordHatchingPayload {
  @Field(() => HatchingType)
  hatching!: HatchingType;
}

export enum BreedingFactType {
  mating = 'mating',
  clutch = 'clutch',
  hatching = 'hatching',
}
registerEnumType(BreedingFactType, { name: 'BreedingFact' });

@InputType({ description: 'What is left out stays as it was.' })
export class CorrectBreedingFactInput {
  @Field(() => BreedingFactType)
  kind!: BreedingFactType;

  @Field(() => ID)
  factId!: string;

  @Field(() => String, { description: 'Why it is corrected.' })
  reason!: string;

  @Field(() => Boolean, { nullable: true, description: 'True: it did not happen after all.' })
  takeBack?: boolean | null;

  @Field(() => String, { nullable: true, description: 'EDTF; null clears it.' })
  when?: string | null;

  @Field(() => KnownAnswerType, { nullable: true })
  controlled?: KnownAnswerType | null;
}

@ObjectType()
export class CorrectBreedingFactPayload {
  @Field(() => ID, { nullable: true, description: 'The version in force; null when it was taken back.' })
  factId!: string | null;

  @Field(() => AnimalType, { nullable: true, description: 'The animal it is about, where the viewer still sees it.' })
  animal!: AnimalType | null;
}
