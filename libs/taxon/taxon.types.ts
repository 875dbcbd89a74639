import { Field, ID, Int, ObjectType } from '@nestjs/graphql';
import { Connection } from '../platform/graphql/index.js';

@ObjectType('Line', { description: 'A locality or bloodline that must not be crossed unawares.' })
export class LineType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  name!: string;
}

@ObjectType('Taxon', { description: 'A species or subspecies.' })
export class TaxonType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  scientificName!: string;

  @Field(() => String)
  commonName!: string;

  @Field(() => String)
  orderName!: string;

  @Field(() => String)
  className!: string;

  @Field(() => String, { description: 'Where the names come from.' })
  nameSource!: string;

  @Field(() => Int, { description: 'Days a newcomer is kept apart, where the keeper has no longer rule.' })
  quarantineDays!: number;

  @Field(() => String)
  quarantineSource!: string;

  @Field(() => Boolean, {
    description:
      'Dangerous to people, as far as is told here; keepers of minors have none. Local codes and the licensing authority decide.',
  })
  dangerous!: boolean;

  @Field(() => String, { nullable: true, description: 'Who says that it is dangerous.' })
  dangerousSource!: string | null;
}

export const TaxonConnection = Connection(TaxonType, 'Taxon');
