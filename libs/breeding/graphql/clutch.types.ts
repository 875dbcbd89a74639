import { Field, Float, GraphQLISODateTime, ID, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { WarningType } from '../../animal/index.js';
import { KnownAnswerType } from '../../housing/index.js';
import { type Day } from '../../kernel/index.js';
import { ParentageBasisType } from '../../lineage/index.js';
import { Connection, DayType, UncertainDayType } from '../../platform/graphql/index.js';
import { type ClutchFacts } from '../store/clutch.store.js';

export enum ClutchKindType {
  eggs = 'eggs',
  born = 'born',
}
registerEnumType(ClutchKindType, {
  name: 'ClutchKind',
  valuesMap: { born: { description: 'Young born alive: there are no eggs to follow.' } },
});

export enum EggEventKindType {
  left_with_parents = 'left_with_parents',
  incubated = 'incubated',
  moved = 'moved',
  top_marked = 'top_marked',
  candled = 'candled',
  infertile = 'infertile',
  failed = 'failed',
  hatched = 'hatched',
  fate_unknown = 'fate_unknown',
}
registerEnumType(EggEventKindType, {
  name: 'EggEventKind',
  valuesMap: {
    top_marked: {
      description:
        'It was marked which side is up. Turning an egg of a reptile can kill the embryo; ask a veterinarian or an experienced breeder when in doubt.',
    },
  },
});

export enum EggPlaceType {
  enclosure = 'enclosure',
  incubator = 'incubator',
}
registerEnumType(EggPlaceType, { name: 'EggPlace' });

export enum EggStateType {
  laid = 'laid',
  with_parents = 'with_parents',
  incubated = 'incubated',
  infertile = 'infertile',
  failed = 'failed',
  hatched = 'hatched',
  unknown = 'unknown',
}
registerEnumType(EggStateType, { name: 'EggState' });

export enum CandlingType {
  fertile = 'fertile',
  clear = 'clear',
  unsure = 'unsure',
}
registerEnumType(CandlingType, { name: 'Candling' });

export enum ForecastBasisType {
  own = 'own',
  taxon = 'taxon',
}
registerEnumType(ForecastBasisType, {
  name: 'ForecastBasis',
  valuesMap: {
    own: { description: 'From at least three own intervals of the dam.' },
    taxon: { description: 'From the profile of the taxon.' },
  },
});

@ObjectType('Forecast', { description: 'When something is to be expected. Animals do as they please.' })
export class ForecastType {
  @Field(() => DayType, { nullable: true })
  earliest!: Day | null;

  @Field(() => DayType, { nullable: true, description: 'Null = no latest day is known.' })
  latest!: Day | null;

  @Field(() => ForecastBasisType)
  basis!: ForecastBasisType;

  @Field(() => String, { description: 'Whose figures they are.' })
  source!: string;
}

@ObjectType('BreedingForecast')
export class BreedingForecastType {
  @Field(() => ForecastType, { nullable: true, description: 'Null where nothing is known to go by.' })
  nextClutch!: ForecastType | null;
}

@ObjectType('PossibleParent', { description: 'One that is not shown to the viewer stands here without identity.' })
export class PossibleParentType {
  @Field(() => Float, { description: 'Those of one list sum to 1.' })
  probability!: number;

  @Field(() => Int, { nullable: true, description: 'Days it shared with the dam in the window; for sires.' })
  sharedDays!: number | null;

  /** Not part of the schema: whom the field resolver shows. */
  animalId!: string;
}

@ObjectType('ParentProposal', {
  description: 'Who can be the parents, worked out from the records. An empty list = not known.',
})
export class ParentProposalType {
  @Field(() => [PossibleParentType])
  dams!: PossibleParentType[];

  @Field(() => ParentageBasisType)
  damBasis!: ParentageBasisType;

  @Field(() => [PossibleParentType])
  sires!: PossibleParentType[];

  @Field(() => ParentageBasisType, { description: 'The weakest that any of the sires rests on.' })
  sireBasis!: ParentageBasisType;

  @Field(() => DayType, {
    nullable: true,
    description: 'First day of a mating that can have led to it; null = no limit is known.',
  })
  windowFrom!: Day | null;

  @Field(() => DayType, { description: 'Last day of a mating that can have led to it.' })
  windowUntil!: Day;

  @Field(() => [WarningType])
  warnings!: WarningType[];
}

@ObjectType('EggEvent', { description: 'What happened to an egg, or to all eggs of its clutch that were left.' })
export class EggEventType {
  @Field(() => ID)
  id!: string;

  @Field(() => EggEventKindType)
  kind!: EggEventKindType;

  @Field(() => Boolean, { description: 'True: recorded of all eggs that were left.' })
  wholeClutch!: boolean;

  @Field(() => UncertainDayType, { nullable: true })
  when!: UncertainDayType | null;

  @Field(() => Float, { nullable: true, description: 'Degrees Celsius.' })
  celsius!: number | null;

  @Field(() => CandlingType, { nullable: true })
  candling!: CandlingType | null;

  @Field(() => EggPlaceType, { nullable: true, description: 'What kind of place is named; never whose or where.' })
  placeKind!: EggPlaceType | null;

  @Field(() => String, { nullable: true, description: 'Shown to the keeper for whom it was recorded.' })
  incubator!: string | null;

  @Field(() => GraphQLISODateTime)
  recordedAt!: Date;

  /** Not part of the schema: what the field resolver shows. */
  enclosureId!: string | null;
}

export const EggEventConnection = Connection(EggEventType, 'EggEvent');

@ObjectType('IncubatedDays', { description: 'Days of incubation so far; the days of the records may be uncertain.' })
export class IncubatedDaysType {
  @Field(() => Int)
  least!: number;

  @Field(() => Int, { nullable: true, description: 'Null = no limit is known.' })
  most!: number | null;
}

@ObjectType('Egg')
export class EggType {
  @Field(() => ID, { nullable: true, description: 'Null until something is recorded of it.' })
  id!: string | null;

  @Field(() => Int, { description: 'From 1.' })
  number!: number;

  @Field(() => EggStateType)
  state!: EggStateType;

  @Field(() => Boolean, {
    nullable: true,
    description: 'Whether a keeper of the viewer has it; null = nobody here has.',
  })
  own!: boolean | null;

  @Field(() => Boolean, {
    description:
      'Which side is up is marked on it. Turning an egg of a reptile can kill the embryo: keep that side up.',
  })
  topMarked!: boolean;

  @Field(() => IncubatedDaysType, { nullable: true, description: 'Null where no incubation is recorded, or it ended.' })
  incubatedDays!: IncubatedDaysType | null;

  @Field(() => EggEventType, { nullable: true, description: 'The last event that says where it is.' })
  place!: EggEventType | null;

  /** Not part of the schema: what the field resolvers show. */
  events!: EggEventType[];
  youngIds!: readonly string[];
}

export const EggConnection = Connection(EggType, 'Egg');

@ObjectType('Clutch', { description: 'Eggs laid, or young born, at one time by one dam.' })
export class ClutchType {
  @Field(() => ID)
  id!: string;

  @Field(() => ClutchKindType)
  kind!: ClutchKindType;

  @Field(() => Int, { nullable: true, description: 'Eggs, or young of a birth.' })
  eggCount!: number | null;

  @Field(() => KnownAnswerType, { description: 'Whether it was laid in a controlled environment.' })
  controlled!: KnownAnswerType;

  @Field(() => UncertainDayType, { nullable: true, description: 'The days on which it can have been laid.' })
  laid!: UncertainDayType | null;

  @Field(() => DayType, { nullable: true })
  foundOn!: Day | null;

  @Field(() => [PossibleParentType], { description: 'The dam, with probability 1, or everyone that can be.' })
  dams!: PossibleParentType[];

  /** Not part of the schema: what the field resolvers work from, and the moment up to which it is read (null = now). */
  facts!: ClutchFacts;
  at!: Date | null;
}

export const ClutchConnection = Connection(ClutchType, 'Clutch');

/** GraphQL form of a clutch as read up to a moment; null = now. */
export function toClutchType(clutch: ClutchFacts, at: Date | null): ClutchType {
  return {
    id: clutch.id,
    kind: ClutchKindType[clutch.kind],
    eggCount: clutch.eggCount,
    controlled: KnownAnswerType[clutch.controlled],
    laid: clutch.laid,
    foundOn: clutch.foundOn,
    dams: clutch.dams.map((dam) => ({ probability: dam.probability, sharedDays: null, animalId: dam.id })),
    facts: clutch,
    at,
  };
}
