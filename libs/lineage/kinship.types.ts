import { Field, Float, Int, ObjectType } from '@nestjs/graphql';
import { AnimalType } from '../animal/index.js';
import { DayType } from '../platform/graphql/index.js';
import { type Day } from '../kernel/index.js';

@ObjectType('ReferencePopulation', {
  description: 'The living individuals of the taxon, over all collections; lots are left out.',
})
export class ReferencePopulationType {
  @Field(() => Int)
  size!: number;

  @Field(() => Float, { nullable: true, description: 'Average of its members’ mean kinships; null when nobody lives.' })
  meanKinship!: number | null;

  @Field(() => Float, {
    nullable: true,
    description: '1 − mean kinship: share of the founders’ diversity that is left.',
  })
  geneDiversity!: number | null;

  @Field(() => DayType)
  asOf!: Day;
}

@ObjectType('MeanKinship', {
  description: 'A lower bound, as inbreeding is. A low one means that the animal’s line is rare.',
})
export class MeanKinshipType {
  @Field(() => Float, { description: 'Average kinship with the living, itself included where it lives.' })
  value!: number;

  @Field(() => Float, { description: 'Share of its ancestry that leads back to founders, 0 to 1.' })
  knownAncestry!: number;

  @Field(() => ReferencePopulationType)
  population!: ReferencePopulationType;
}

@ObjectType('Relationship', { description: 'How two animals of one taxon are related, as far as parents are known.' })
export class RelationshipType {
  @Field(() => AnimalType)
  a!: AnimalType;

  @Field(() => AnimalType)
  b!: AnimalType;

  @Field(() => Float, { description: 'Kinship: the inbreeding their offspring would have.' })
  kinship!: number;

  @Field(() => Float, { description: 'Mean of the two known-ancestry shares, 0 to 1.' })
  knownAncestry!: number;

  @Field(() => String, { description: 'How close that is, in words.' })
  words!: string;
}

@ObjectType('KinshipTableRow')
export class KinshipTableRowType {
  @Field(() => AnimalType)
  animal!: AnimalType;

  @Field(() => Float, { description: 'Share of its ancestry that leads back to founders, 0 to 1.' })
  knownAncestry!: number;

  @Field(() => [Float], {
    description: 'Kinship with each animal of the table, in the order of its rows; with itself (1 + F) / 2.',
  })
  kinships!: number[];
}

@ObjectType('KinshipTable', {
  description:
    'Kinship of each of some animals with each; a lower bound, as inbreeding is. Drawn by `GET /kinship.svg`.',
})
export class KinshipTableType {
  @Field(() => [KinshipTableRowType])
  rows!: KinshipTableRowType[];

  @Field(() => String, { description: 'Version of the pedigree: the whole of the taxon, shared or not.' })
  version!: string;

  @Field(() => DayType)
  asOf!: Day;
}
