import { Field, Float, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType } from '../../animal/index.js';
import { type Day } from '../../kernel/index.js';
import { ReferencePopulationType } from '../../lineage/index.js';
import { Connection, type ConnectionOf, DayType } from '../../platform/graphql/index.js';

export enum AnswerType {
  yes = 'yes',
  no = 'no',
  possible = 'possible',
}
registerEnumType(AnswerType, { name: 'Answer', description: 'An answer about days that may be uncertain.' });

export enum DistanceBandType {
  same_region = 'same_region',
  same_country = 'same_country',
  another_country = 'another_country',
  not_shown = 'not_shown',
}
registerEnumType(DistanceBandType, {
  name: 'DistanceBand',
  description:
    'How far the holder is. Not shown where the holder hides their holdings or fewer than five in the viewer’s clubs have the line.',
});

export enum RankPartType {
  offspringInbreeding = 'offspringInbreeding',
  meanKinship = 'meanKinship',
  knownAncestry = 'knownAncestry',
  readiness = 'readiness',
  geneDiversityChange = 'geneDiversityChange',
  distance = 'distance',
}
registerEnumType(RankPartType, { name: 'MateRankPart', description: 'What a ranking of mates is made of.' });

export enum NoMateType {
  other_line = 'other_line',
  not_available = 'not_available',
  not_grown_up = 'not_grown_up',
  sex_unknown = 'sex_unknown',
  not_open = 'not_open',
  too_related = 'too_related',
  too_little_known = 'too_little_known',
  too_far = 'too_far',
  nobody = 'nobody',
}
registerEnumType(NoMateType, { name: 'NoMate', description: 'Why there is no mate.' });

@ObjectType('MateRankPoints')
export class MateRankPointsType {
  @Field(() => RankPartType)
  part!: RankPartType;

  @Field(() => Float, { description: 'How good it is in this part, 0 to 1; the scales are in the API guide.' })
  goodness!: number;

  @Field(() => Float, { description: 'What it got for it: all parts of the best mate there could be sum to 100.' })
  points!: number;
}

@ObjectType('MateOption')
export class MateOptionType {
  @Field(() => Int, { description: 'Place in the ranking, from 1.' })
  place!: number;

  @Field(() => AnimalType, {
    description: 'Its `holder` is null where the holder is hidden: ask through the registry.',
  })
  animal!: AnimalType;

  @Field(() => Float, { description: 'Inbreeding coefficient their offspring would have; a lower bound.' })
  offspringInbreeding!: number;

  @Field(() => Float, { description: 'Mean kinship of this mate with the living; low = a rare line.' })
  meanKinship!: number;

  @Field(() => Float, {
    description: 'Change of the gene diversity of the living by one offspring of the two, exact.',
  })
  geneDiversityChange!: number;

  @Field(() => Float, {
    description: 'Share of the offspring’s ancestry that leads back to declared founders, 0 to 1.',
  })
  knownAncestry!: number;

  @Field(() => AnswerType, {
    description:
      'Whether it is grown up on the day, by the taxon’s profile and the birth; of another keeper’s animal by the year of birth.',
  })
  grownUp!: AnswerType;

  @Field(() => Boolean, { nullable: true, description: 'What its holder says of it; null = nothing was said.' })
  openForBreeding!: boolean | null;

  @Field(() => DistanceBandType)
  distance!: DistanceBandType;

  @Field(() => Boolean, { description: 'The holder is not shown to you: ask with `askHolder`.' })
  askThroughRegistry!: boolean;

  @Field(() => [MateRankPointsType], { description: 'Why it stands at its place, in numbers.' })
  parts!: MateRankPointsType[];

  @Field(() => String, { description: 'Why it stands at its place.' })
  reason!: string;
}

export const MateOptionConnection = Connection(MateOptionType, 'MateOption');

@ObjectType('MatesLeftOut', {
  description: 'Visible animals of the line that are no option, each counted once.',
})
export class MatesLeftOutType {
  @Field(() => Int, { description: 'In quarantine or promised elsewhere; which of the two is not told.' })
  notAvailable!: number;

  @Field(() => Int)
  notGrownUp!: number;

  @Field(() => Int, { description: 'Left out by the filters.' })
  filteredOut!: number;
}

@ObjectType('NoMateReason', { description: 'What keeps animals out of an empty list, and what can be done.' })
export class NoMateReasonType {
  @Field(() => NoMateType)
  because!: NoMateType;

  @Field(() => Int, { description: 'How many of the animals you see; one can fail in several ways.' })
  count!: number;

  @Field(() => String)
  words!: string;
}

@ObjectType('MateOptions', {
  description:
    'Mates in all collections that share with the viewer, best first. A figure is no advice to breed: health, age and law come first.',
})
export class MateOptionsType {
  @Field(() => AnimalType)
  animal!: AnimalType;

  @Field(() => DayType, { description: 'The day the search is for.' })
  on!: Day;

  @Field(() => MateOptionConnection)
  options!: ConnectionOf<MateOptionType>;

  @Field(() => Int, { description: 'How many options there are on all pages.' })
  total!: number;

  @Field(() => MatesLeftOutType)
  leftOut!: MatesLeftOutType;

  @Field(() => [NoMateReasonType], { description: 'Where there is no option: the reasons. Else empty.' })
  nearest!: NoMateReasonType[];

  @Field(() => ReferencePopulationType)
  population!: ReferencePopulationType;
}
