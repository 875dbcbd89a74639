import { Field, Float, ID, Int, ObjectType } from '@nestjs/graphql';
import { type Day, formatRegisterNumber, type RegisterNumber, shortRegisterNumber } from '../../kernel/index.js';
import { Connection, DayType, UncertainDayType } from '../../platform/graphql/index.js';
import { type AnimalView } from '../core/animal-view.core.js';
import {
  AnimalKindType,
  BirthMannerType,
  CertaintyType,
  FateType,
  NoteTopicType,
  OriginClassType,
  SexType,
  TraitBasisType,
  TraitStateType,
  ViewerLevelType,
} from './animal.enums.js';

@ObjectType('Birth', { description: 'When and how an animal began; the day as written and as the span it can be.' })
export class BirthType extends UncertainDayType {
  @Field(() => BirthMannerType)
  manner!: BirthMannerType;
}

@ObjectType('Weight')
export class WeightType {
  @Field(() => ID)
  id!: string;

  @Field(() => Float)
  grams!: number;

  @Field(() => String, { nullable: true, description: 'EDTF.' })
  edtf!: string | null;
}

@ObjectType('Trait', { description: 'What it shows or carries of one gene, and how that is known.' })
export class TraitType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  gene!: string;

  @Field(() => TraitStateType)
  state!: TraitStateType;

  @Field(() => [String], { nullable: true, description: 'Its two alleles, where they are known.' })
  alleles!: string[] | null;

  @Field(() => TraitBasisType)
  basis!: TraitBasisType;

  @Field(() => CertaintyType, { nullable: true })
  certainty!: CertaintyType | null;

  @Field(() => String, { nullable: true, description: 'EDTF.' })
  edtf!: string | null;
}

@ObjectType('Note')
export class NoteType {
  @Field(() => ID)
  id!: string;

  @Field(() => NoteTopicType)
  topic!: NoteTopicType;

  @Field(() => String)
  text!: string;

  @Field(() => String, { nullable: true, description: 'EDTF.' })
  edtf!: string | null;
}

@ObjectType('Animal', { description: 'A stock record: one animal, or a lot. What is not shown to the viewer is null.' })
export class AnimalType {
  @Field(() => ID)
  id!: string;

  @Field(() => String, { description: 'For print and for reading aloud: XXX-XXX-XXX.' })
  registerNumber!: string;

  @Field(() => String, {
    description:
      'The last group of the register number, for a small label: tells animals of one room apart, and is no number to look one up by.',
  })
  shortNumber!: string;

  @Field(() => AnimalKindType)
  kind!: AnimalKindType;

  @Field(() => ViewerLevelType)
  viewerLevel!: ViewerLevelType;

  @Field(() => SexType)
  sex!: SexType;

  @Field(() => Int, { nullable: true, description: 'Null when the year is not known for sure.' })
  birthYear!: number | null;

  @Field(() => OriginClassType)
  originClass!: OriginClassType;

  @Field(() => Boolean, {
    nullable: true,
    description: 'Declared to have no ancestors in the registry to look for; says nothing while a parent is recorded.',
  })
  declaredFounder!: boolean | null;

  @Field(() => Boolean, { description: 'By what is stated it descends from more than one taxon.' })
  isHybrid!: boolean;

  @Field(() => String, { nullable: true })
  name!: string | null;

  @Field(() => FateType, { nullable: true })
  fate!: FateType | null;

  @Field(() => String, { nullable: true, description: 'When it met its fate, EDTF.' })
  fateEdtf!: string | null;

  @Field(() => Int, { nullable: true, description: 'Animals in the record.' })
  count!: number | null;

  @Field(() => Boolean, { nullable: true })
  countEstimated!: boolean | null;

  @Field(() => DayType, { nullable: true, description: 'The last day on which it was surely there.' })
  lastSeenOn!: Day | null;

  /** Not part of the schema: what the field resolvers of this and other contexts work from. */
  view!: AnimalView;
}

export const AnimalConnection = Connection(AnimalType, 'Animal');

export const WeightConnection = Connection(WeightType, 'Weight');

export const TraitConnection = Connection(TraitType, 'Trait');

export const NoteConnection = Connection(NoteType, 'Note');

@ObjectType('Warning', { description: 'Worth knowing; nothing was refused.' })
export class WarningType {
  @Field(() => String)
  code!: string;

  @Field(() => String)
  message!: string;
}

/** GraphQL form of what a viewer reads of an animal. */
export function toAnimalType(view: AnimalView): AnimalType {
  const { record } = view;
  return {
    id: view.id,
    registerNumber: formatRegisterNumber(view.registerNumber as RegisterNumber),
    shortNumber: shortRegisterNumber(view.registerNumber as RegisterNumber),
    kind: AnimalKindType[view.kind],
    viewerLevel: ViewerLevelType[view.level],
    sex: SexType[view.sex],
    birthYear: view.birthYear,
    originClass: OriginClassType[view.originClass],
    declaredFounder: view.declaredFounder,
    isHybrid: view.isHybrid,
    name: record?.name ?? null,
    fate: record === null ? null : FateType[record.fate],
    fateEdtf: record?.fateEdtf ?? null,
    count: record?.count ?? null,
    countEstimated: record?.countEstimated ?? null,
    lastSeenOn: record?.lastSeenOn ?? null,
    view,
  };
}
