import { Field, Float, Int, ObjectType } from '@nestjs/graphql';
import { AnimalType } from '../../animal/index.js';
import { DayType } from '../../platform/graphql/index.js';
import { type Day } from '../../kernel/index.js';

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

@ObjectType('SharedAncestor', {
  description:
    'An ancestor at which the lines of two animals part. One that is not shown to the viewer stands here without identity.',
})
export class SharedAncestorType {
  @Field(() => Float, { description: 'Share of the kinship that comes through it, 0 to 1.' })
  share!: number;

  @Field(() => Int, { description: 'Generations from `a` up to it, on the shortest way; 0 where it is `a` itself.' })
  generationsA!: number;

  @Field(() => Int)
  generationsB!: number;

  @Field(() => Boolean, { description: 'Whether the viewer may see which animal it is.' })
  shown!: boolean;

  @Field(() => AnimalType, { nullable: true })
  animal!: AnimalType | null;
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

  @Field(() => String, {
    description: 'How they are related, closest ties first: “half siblings through the dam, and first cousins”.',
  })
  words!: string;

  @Field(() => String, {
    nullable: true,
    description: 'What `a` is to `b` by the closest tie; null without a known tie.',
  })
  aIs!: string | null;

  @Field(() => String, { nullable: true })
  bIs!: string | null;

  @Field(() => [SharedAncestorType], { description: 'Largest share first, 20 at most.' })
  sharedAncestors!: SharedAncestorType[];

  @Field(() => Float, {
    description:
      'Share of the kinship in ties too distant and too many to be followed one by one; 0 in most pedigrees.',
  })
  distantShare!: number;
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
