import { Field, Float, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType, MarkInput, OriginClassType, SexType, WarningType } from '../../animal/index.js';
import { EnclosureType, KnownAnswerType } from '../../housing/index.js';
import { type Day } from '../../kernel/index.js';
import { ParentageBasisType, ParentCandidateInput } from '../../lineage/index.js';
import { Connection, DayType, UncertainDayInputType, type UncertainDayValue } from '../../platform/graphql/index.js';
import { CandlingType, ClutchType, EggEventKindType } from './clutch.types.js';

@InputType({
  description: 'One of the young; `count` above 1 for a lot that is kept together, without sex, marks or egg.',
})
export class YounglingInput {
  @Field(() => String, { nullable: true })
  name?: string | null;

  @Field(() => SexType, { nullable: true })
  sex?: SexType | null;

  @Field(() => [MarkInput], { nullable: true, description: 'At most 20.' })
  marks?: MarkInput[] | null;

  @Field(() => Int, { nullable: true, description: 'The egg it came out of. Twins name the same one.' })
  eggNumber?: number | null;

  @Field(() => Int, { nullable: true, description: '1 when left out.' })
  count?: number | null;

  @Field(() => Boolean, { nullable: true, description: 'True when the number of a lot is a guess.' })
  estimated?: boolean | null;
}

@InputType({ description: 'Give `parentId`, `candidates` or `unknown: true`, one of the three.' })
export class NamedParentInput {
  @Field(() => ID, { nullable: true })
  parentId?: string | null;

  @Field(() => [ParentCandidateInput], { nullable: true, description: '2 to 20 possible parents.' })
  candidates?: ParentCandidateInput[] | null;

  @Field(() => Boolean, { nullable: true, description: 'True: not known, whatever the records suggest.' })
  unknown?: boolean | null;

  @Field(() => ParentageBasisType, { nullable: true, description: 'Declared when left out.' })
  basis?: ParentageBasisType | null;
}

@InputType({
  description: 'Young of a clutch, or (no clutch) young that were found. All of them are registered, or none.',
})
export class RecordHatchlingsInput {
  @Field(() => ID, { nullable: true, description: 'Left out: they were found, and no clutch is on record.' })
  clutchId?: string | null;

  @Field(() => ID, { nullable: true, description: 'Whose they are; the keeper who recorded the clutch when left out.' })
  keeperId?: string | null;

  @Field(() => ID, { nullable: true, description: 'Of found young; a clutch tells it.' })
  taxonId?: string | null;

  @Field(() => ID, { nullable: true, description: 'The line; that of all possible parents when left out.' })
  lineId?: string | null;

  @Field(() => UncertainDayInputType, { nullable: true, description: 'When they hatched or were born.' })
  when?: UncertainDayValue | null;

  @Field(() => KnownAnswerType, {
    nullable: true,
    description: 'Whether in a controlled environment; unknown when left out.',
  })
  controlled?: KnownAnswerType | null;

  @Field(() => OriginClassType, { nullable: true, description: 'What the keeper claims; nothing when left out.' })
  originClass?: OriginClassType | null;

  @Field(() => DayType, {
    nullable: true,
    description: 'Since when the keeper has them; the last day they can have hatched when left out.',
  })
  since?: Day | null;

  @Field(() => ID, {
    nullable: true,
    description: 'The own enclosure they are put in; of found young also where their parents are looked for.',
  })
  enclosureId?: string | null;

  @Field(() => [YounglingInput], { description: '1 to 100.' })
  young!: YounglingInput[];

  @Field(() => NamedParentInput, { nullable: true, description: 'Of found young; a clutch tells its dam.' })
  dam?: NamedParentInput | null;

  @Field(() => NamedParentInput, { nullable: true, description: 'As `parentProposal` says when left out.' })
  sire?: NamedParentInput | null;
}

@ObjectType()
export class RecordHatchlingsPayload {
  @Field(() => [AnimalType], { description: 'In the order they were named.' })
  young!: AnimalType[];

  @Field(() => ClutchType, { nullable: true })
  clutch!: ClutchType | null;

  @Field(() => [WarningType])
  warnings!: WarningType[];
}

@InputType()
export class MovedClutchInput {
  @Field(() => ID)
  clutchId!: string;

  @Field(() => [Int], { nullable: true, description: 'Numbers of the eggs; all that are left when left out.' })
  eggs?: number[] | null;
}

@InputType({ description: 'All of them move, or none.' })
export class MoveFamilyInput {
  @Field(() => ID)
  toEnclosureId!: string;

  @Field(() => ID, { nullable: true, description: 'Everybody and every clutch that is in this one.' })
  fromEnclosureId?: string | null;

  @Field(() => [ID], { nullable: true, description: 'At most 200.' })
  animalIds?: string[] | null;

  @Field(() => [MovedClutchInput], { nullable: true, description: 'At most 50.' })
  clutches?: MovedClutchInput[] | null;

  @Field(() => DayType, { nullable: true, description: 'Today when left out.' })
  on?: Day | null;
}

@ObjectType()
export class MoveFamilyPayload {
  @Field(() => EnclosureType)
  enclosure!: EnclosureType;

  @Field(() => Int, { description: 'Animals and lots that were moved.' })
  animals!: number;

  @Field(() => Int, { description: 'Clutches of which eggs were moved.' })
  clutches!: number;

  @Field(() => [WarningType])
  warnings!: WarningType[];
}

@InputType()
export class RecordEggEventsInput {
  @Field(() => ID)
  clutchId!: string;

  @Field(() => [Int], {
    nullable: true,
    description: 'Numbers of the eggs, at most 200; all that are left when left out.',
  })
  eggs?: number[] | null;

  @Field(() => EggEventKindType)
  kind!: EggEventKindType;

  @Field(() => UncertainDayInputType, { nullable: true, description: 'Null or left out = the day is not known.' })
  when?: UncertainDayValue | null;

  @Field(() => ID, { nullable: true, description: 'The own enclosure it is in from then on.' })
  enclosureId?: string | null;

  @Field(() => String, { nullable: true, description: 'The incubator it is in from then on, in words.' })
  incubator?: string | null;

  @Field(() => Float, { nullable: true, description: 'Degrees Celsius, to a tenth.' })
  celsius?: number | null;

  @Field(() => CandlingType, { nullable: true, description: 'Of a candling.' })
  candling?: CandlingType | null;
}

@InputType({ description: 'What is left out stays as it was.' })
export class CorrectEggEventInput {
  @Field(() => ID)
  eventId!: string;

  @Field(() => String, { description: 'Why it is corrected.' })
  reason!: string;

  @Field(() => Boolean, { nullable: true, description: 'True: it did not happen after all.' })
  takeBack?: boolean | null;

  @Field(() => UncertainDayInputType, { nullable: true, description: 'Null clears it.' })
  when?: UncertainDayValue | null;

  @Field(() => ID, { nullable: true, description: 'Null clears it.' })
  enclosureId?: string | null;

  @Field(() => String, { nullable: true, description: 'Null clears it.' })
  incubator?: string | null;

  @Field(() => Float, { nullable: true, description: 'Null clears it.' })
  celsius?: number | null;

  @Field(() => CandlingType, { nullable: true })
  candling?: CandlingType | null;
}

@ObjectType()
export class EggEventsPayload {
  @Field(() => ClutchType)
  clutch!: ClutchType;

  @Field(() => [WarningType])
  warnings!: WarningType[];
}

export enum WeighingType {
  equal = 'equal',
  shared_days = 'shared_days',
}
registerEnumType(WeighingType, {
  name: 'SireWeighing',
  description: 'How sires who lived with the dam are weighed. A convention of this registry, without a source.',
  valuesMap: {
    equal: { description: 'Each as likely as the others.' },
    shared_days: { description: 'By the days they shared with her in the window.' },
  },
});

export enum PairingStateType {
  planned = 'planned',
  under_way = 'under_way',
  ended = 'ended',
  dropped = 'dropped',
}
registerEnumType(PairingStateType, { name: 'PairingState' });

@ObjectType('Pairing', {
  description: 'A plan to pair two animals. It is evidence of nothing. Seen by its keeper only.',
})
export class PairingType {
  @Field(() => ID)
  id!: string;

  @Field(() => PairingStateType)
  state!: PairingStateType;

  @Field(() => DayType)
  from!: Day;

  @Field(() => DayType, { nullable: true })
  until!: Day | null;

  @Field(() => String, { nullable: true })
  note!: string | null;

  @Field(() => Int)
  version!: number;

  /** Not part of the schema: whom the field resolvers show. */
  damId!: string;
  sireId!: string;
}

export const PairingConnection = Connection(PairingType, 'Pairing');

@InputType()
export class PlanPairingInput {
  @Field(() => ID)
  damId!: string;

  @Field(() => ID)
  sireId!: string;

  @Field(() => DayType)
  from!: Day;

  @Field(() => DayType, { nullable: true })
  until?: Day | null;

  @Field(() => String, { nullable: true })
  note?: string | null;
}

@InputType()
export class MovePairingInput {
  @Field(() => ID)
  pairingId!: string;

  @Field(() => PairingStateType)
  state!: PairingStateType;

  @Field(() => Int, {
    nullable: true,
    description: 'The version you read: refused as stale when it has changed since.',
  })
  version?: number | null;
}

@ObjectType()
export class PairingPayload {
  @Field(() => PairingType)
  pairing!: PairingType;
}
