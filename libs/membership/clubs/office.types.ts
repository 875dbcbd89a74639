import { Field, ID, InputType, ObjectType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { ClubType, HoldingsAudienceType, OwnKeeperType } from '../graphql/membership.types.js';

@ObjectType('Office', {
  description: 'Coordinator of a region and a taxon of a club. Whoever has all regions and all taxa is its registrar.',
})
export class OfficeType {
  @Field(() => ID)
  id!: string;

  @Field(() => ClubType)
  club!: ClubType;

  @Field(() => String, { nullable: true, description: 'ISO 3166-2; null = all regions.' })
  region!: string | null;

  @Field(() => ID, { nullable: true, description: 'Null = all taxa.' })
  taxonId!: string | null;

  @Field(() => String, { nullable: true, description: 'Its scientific name; null = all taxa.' })
  taxon!: string | null;

  @Field(() => String, { nullable: true, description: 'The keeper, of this club, that whoever holds it acts for.' })
  holder!: string | null;

  @Field(() => DayType)
  validFrom!: Day;

  @Field(() => DayType, { nullable: true, description: 'First day on which it is no longer held; null = open.' })
  validTo!: Day | null;
}

export const OfficeConnection = Connection(OfficeType, 'Office');

@InputType()
export class AppointCoordinatorInput {
  @Field(() => ID)
  clubId!: string;

  @Field(() => String, { description: 'Address with which somebody of a member of the club signs in.' })
  email!: string;

  @Field(() => String, { nullable: true, description: 'ISO 3166-2, for example `AT-7`; all regions when left out.' })
  region?: string | null;

  @Field(() => ID, { nullable: true, description: 'All taxa when left out.' })
  taxonId?: string | null;

  @Field(() => DayType, { nullable: true, description: 'Today when left out.' })
  validFrom?: Day | null;

  @Field(() => DayType, { nullable: true, description: 'First day on which it is no longer held.' })
  validTo?: Day | null;
}

@ObjectType()
export class AppointCoordinatorPayload {
  @Field(() => OfficeType)
  office!: OfficeType;
}

@InputType()
export class HandOverOfficeInput {
  @Field(() => ID)
  officeId!: string;

  @Field(() => String, { description: 'Address with which somebody of a member of the club signs in.' })
  email!: string;

  @Field(() => DayType, {
    nullable: true,
    description: 'First day of the other, and first day without the present holder; today when left out.',
  })
  on?: Day | null;
}

@ObjectType()
export class HandOverOfficePayload {
  @Field(() => ID, { description: 'The office as the other holds it.' })
  officeId!: string;
}

@InputType()
export class EndOfficeInput {
  @Field(() => ID)
  officeId!: string;

  @Field(() => DayType, {
    nullable: true,
    description: 'First day on which it is no longer held; today when left out.',
  })
  on?: Day | null;
}

@ObjectType()
export class EndOfficePayload {
  @Field(() => OfficeType)
  office!: OfficeType;
}

@InputType()
export class SetSharingInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => HoldingsAudienceType)
  holdingsShown!: HoldingsAudienceType;

  @Field(() => Boolean, {
    description:
      'Whether register number, taxon, line, sex, birth year, origin class and parents are shown in its clubs.',
  })
  lineageShared!: boolean;
}

@ObjectType()
export class SetSharingPayload {
  @Field(() => OwnKeeperType)
  keeper!: OwnKeeperType;
}
