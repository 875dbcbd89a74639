import { Field, Float, Int, ObjectType } from '@nestjs/graphql';
import { AnimalType, WarningType } from '../../animal/index.js';
import { ReferencePopulationType } from '../../lineage/index.js';

@ObjectType('InbreedingRange', {
  description:
    'Between which numbers it lies, whoever of the candidates the uncertain parents were; a point where all are certain.',
})
export class InbreedingRangeType {
  @Field(() => Float)
  low!: number;

  @Field(() => Float)
  high!: number;

  @Field(() => Boolean, {
    description: 'Some choice of candidates gives each end. Otherwise they are bounds that no choice passes.',
  })
  exact!: boolean;

  @Field(() => Int, { description: 'Parents that several animals may be, in the ancestry of the two.' })
  uncertainParents!: number;
}

@ObjectType('DiversityAfterOffspring')
export class DiversityAfterOffspringType {
  @Field(() => Int)
  offspring!: number;

  @Field(() => Float, { description: 'Gene diversity of the living with so many young of the pair among them, exact.' })
  geneDiversity!: number;

  @Field(() => Float, { description: 'Against that of the living today.' })
  change!: number;
}

@ObjectType('PairForecast', {
  description:
    'What offspring of two animals would be. A figure is no advice to breed: health, age and law come first.',
})
export class PairForecastType {
  @Field(() => AnimalType)
  dam!: AnimalType;

  @Field(() => AnimalType)
  sire!: AnimalType;

  @Field(() => Float, {
    description:
      'Inbreeding coefficient of the offspring, candidates weighed by their probabilities. Unknown ancestors count as unrelated, so it is a lower bound: read `knownAncestry` beside it.',
  })
  offspringInbreeding!: number;

  @Field(() => InbreedingRangeType, {
    nullable: true,
    description: 'Null where too many parents are uncertain among too many ancestors.',
  })
  range!: InbreedingRangeType | null;

  @Field(() => String, { description: 'How related the two are, in words.' })
  words!: string;

  @Field(() => Float, {
    description: 'Share of the offspring’s ancestry that leads back to declared founders, 0 to 1.',
  })
  knownAncestry!: number;

  @Field(() => [DiversityAfterOffspringType], {
    nullable: true,
    description: 'For 1, 2, … offspring. Null for one who no longer has one of the two, and where nobody lives.',
  })
  diversity!: DiversityAfterOffspringType[] | null;

  @Field(() => [String], { description: 'What is not known, in words; nearest first, three generations back.' })
  unknown!: string[];

  @Field(() => [WarningType], { description: 'Worth a look before the two are put together.' })
  warnings!: WarningType[];

  @Field(() => ReferencePopulationType, {
    nullable: true,
    description: 'Null for one who no longer has one of the two: the living of today are not theirs to read.',
  })
  population!: ReferencePopulationType | null;
}
