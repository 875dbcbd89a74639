import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType, WarningType } from '../../animal/index.js';
import { KnownAnswerType } from '../../housing/index.js';
import { type Day } from '../../kernel/index.js';
import { ParentageBasisType, ParentCandidateInput } from '../../lineage/index.js';
import {
  Connection,
  DayType,
  UncertainDayInputType,
  UncertainDayType,
  type UncertainDayValue,
} from '../../platform/graphql/index.js';
import { ClutchKindType, ClutchType } from './clutch.types.js';

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

@ObjectType('Hatching', { description: 'How an animal or lot came out of a clutch.' })
export class HatchingType {
  @Field(() => ID)
  id!: string;

  @Field(() => Int, { nullable: true, description: 'The egg it came out of, where that is known.' })
  eggNumber!: number | null;

  @Field(() => KnownAnswerType, { description: 'Whether it was in a controlled environment.' })
  controlled!: KnownAnswerType;

  @Field(() => UncertainDayType, { nullable: true })
  when!: UncertainDayType | null;

  /** Not part of the schema: what the field resolvers show, and the moment up to which it is read (null = now). */
  animalId!: string;
  clutchId!: string;
  clutchKeeperId!: string;
  hatchedWith!: string;
  at!: Date | null;
}

export const HatchingConnection = Connection(HatchingType, 'Hatching');
export const MatingConnection = Connection(MatingType, 'Mating');

const CONTROLLED = 'Whether it was in a controlled environment; unknown when left out.';
const DAY = 'Null or left out = the day is not known.';

@InputType()
export class RecordMatingInput {
  @Field(() => ID)
  damId!: string;

  @Field(() => ID, { nullable: true })
  sireId?: string | null;

  @Field(() => UncertainDayInputType, { nullable: true, description: DAY })
  when?: UncertainDayValue | null;

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

@InputType({
  description:
    'Name `damId` or `damCandidates`, or only the enclosure: then whoever can have laid there is a candidate.',
})
export class RecordClutchInput {
  @Field(() => ID, { nullable: true })
  damId?: string | null;

  @Field(() => [ParentCandidateInput], { nullable: true, description: '2 to 20 possible dams.' })
  damCandidates?: ParentCandidateInput[] | null;

  @Field(() => ID, { nullable: true, description: 'The own enclosure it was laid in.' })
  enclosureId?: string | null;

  @Field(() => ClutchKindType, { nullable: true, description: '`eggs` when left out.' })
  kind?: ClutchKindType | null;

  @Field(() => UncertainDayInputType, { nullable: true, description: DAY })
  laid?: UncertainDayValue | null;

  @Field(() => DayType, { nullable: true })
  foundOn?: Day | null;

  @Field(() => Int, { nullable: true })
  eggCount?: number | null;

  @Field(() => KnownAnswerType, { nullable: true, description: CONTROLLED })
  controlled?: KnownAnswerType | null;

  @Field(() => Boolean, { nullable: true, description: 'True: it is another clutch than the one that looks the same.' })
  separateClutch?: boolean | null;

  @Field(() => ID, { nullable: true, description: 'It is this clutch: what its record lacks is added from here.' })
  mergeInto?: string | null;
}

@ObjectType()
export class RecordClutchPayload {
  @Field(() => ClutchType)
  clutch!: ClutchType;

  @Field(() => [WarningType])
  warnings!: WarningType[];
}

@InputType()
export class RecordHatchingInput {
  @Field(() => ID)
  clutchId!: string;

  @Field(() => ID, { description: 'The animal or lot, already registered.' })
  animalId!: string;

  @Field(() => Int, { nullable: true, description: 'The egg it came out of, where that is known.' })
  eggNumber?: number | null;

  @Field(() => UncertainDayInputType, { nullable: true, description: DAY })
  when?: UncertainDayValue | null;

  @Field(() => KnownAnswerType, { nullable: true, description: CONTROLLED })
  controlled?: KnownAnswerType | null;
}

@ObjectType()
export class RecordHatchingPayload {
  @Field(() => HatchingType)
  hatching!: HatchingType;

  @Field(() => [WarningType])
  warnings!: WarningType[];
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

  @Field(() => UncertainDayInputType, { nullable: true, description: 'Null clears it.' })
  when?: UncertainDayValue | null;

  @Field(() => DayType, { nullable: true, description: 'Of a clutch. Null clears it.' })
  foundOn?: Day | null;

  @Field(() => Int, { nullable: true, description: 'Of a clutch. Null clears it.' })
  eggCount?: number | null;

  @Field(() => ID, { nullable: true, description: 'Of a clutch: where it was laid. Null clears it.' })
  enclosureId?: string | null;

  @Field(() => ID, { nullable: true, description: 'Of a clutch: the dam, now that she is certain.' })
  damId?: string | null;

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
