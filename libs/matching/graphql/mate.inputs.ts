import { Field, Float, InputType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';
import { DistanceBandType } from './mate-options.types.js';

@InputType({ description: 'What a search for mates leaves out; what is left out here filters nothing.' })
export class MateFiltersInput {
  @Field(() => Float, {
    nullable: true,
    description: 'Highest kinship of the pair, 0 to 1: the inbreeding of their offspring.',
  })
  maxKinship?: number | null;

  @Field(() => Float, {
    nullable: true,
    description: 'Lowest share of the offspring’s ancestry that is known, 0 to 1.',
  })
  minKnownAncestry?: number | null;

  @Field(() => [DistanceBandType], {
    nullable: true,
    description:
      'Distances that are kept. `not_shown` is one of its own: whoever hides where they are is found under it and under no other. There is no filter by a region of choice, which would tell where a holder is.',
  })
  distances?: DistanceBandType[] | null;

  @Field(() => Boolean, { nullable: true, description: 'Only those their holders call open for breeding on the day.' })
  onlyAvailable?: boolean | null;

  @Field(() => Boolean, { nullable: true })
  sexKnownOnly?: boolean | null;

  @Field(() => Boolean, { nullable: true, description: 'Also those that are surely not grown up on the day.' })
  includeYoung?: boolean | null;

  @Field(() => Boolean, { nullable: true, description: 'Also animals of other lines of the taxon.' })
  otherLines?: boolean | null;

  @Field(() => DayType, {
    nullable: true,
    description: 'The day for which age, quarantine and availability are asked: today, or one of the next ten years.',
  })
  on?: Day | null;
}

@InputType({
  description:
    'How much each part counts, 0 to 1,000,000,000; a part left out weighs nothing. Without weights each part weighs a thousand times the next: offspring inbreeding, mean kinship, known ancestry, readiness; gene-diversity change and distance weigh nothing.',
})
export class MateWeightsInput {
  @Field(() => Float, { nullable: true })
  offspringInbreeding?: number | null;

  @Field(() => Float, { nullable: true })
  meanKinship?: number | null;

  @Field(() => Float, { nullable: true })
  knownAncestry?: number | null;

  @Field(() => Float, { nullable: true })
  readiness?: number | null;

  @Field(() => Float, { nullable: true })
  geneDiversityChange?: number | null;

  @Field(() => Float, { nullable: true })
  distance?: number | null;
}
