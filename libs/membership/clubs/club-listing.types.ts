import { Field, ID, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { Connection } from '../../platform/graphql/index.js';
import { type ClubListing } from './club-listing.store.js';

export enum ClubAdmissionType {
  application = 'application',
  invitation = 'invitation',
}
registerEnumType(ClubAdmissionType, {
  name: 'ClubAdmission',
  description: 'How keepers come into a club.',
  valuesMap: {
    application: { description: 'They ask with `applyToClub`, or a registrar asks them.' },
    invitation: { description: 'A registrar asks them; applications are refused.' },
  },
});

@ObjectType('ClubTaxon')
export class ClubTaxonType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  scientificName!: string;
}

@ObjectType('ClubListing', { description: 'What a club says of itself. It tells nothing of its members.' })
export class ClubListingType {
  @Field(() => ID)
  id!: string;

  @Field(() => String, { description: 'Short name, for `applyToClub`.' })
  slug!: string;

  @Field(() => String)
  name!: string;

  @Field(() => Boolean, { description: 'Whether `clubs` finds it.' })
  listed!: boolean;

  @Field(() => String, { nullable: true, description: 'ISO 3166-2; null = not said.' })
  region!: string | null;

  @Field(() => [ClubTaxonType], { description: 'Those it is about; empty = not said.' })
  taxa!: ClubTaxonType[];

  @Field(() => ClubAdmissionType)
  admission!: ClubAdmissionType;
}

export const ClubListingConnection = Connection(ClubListingType, 'ClubListing');

@InputType()
export class SetClubListingInput {
  @Field(() => ID)
  clubId!: string;

  @Field(() => Boolean, { description: 'Whether anybody who is signed in finds the club by name.' })
  listed!: boolean;

  @Field(() => String, { nullable: true, description: 'ISO 3166-2.' })
  region?: string | null;

  @Field(() => [ID], { nullable: true, description: 'All taxa the club is about, 20 at most.' })
  taxonIds?: string[] | null;

  @Field(() => ClubAdmissionType, { nullable: true })
  admission?: ClubAdmissionType | null;
}

@ObjectType()
export class SetClubListingPayload {
  @Field(() => ClubListingType)
  club!: ClubListingType;
}

export function toListingType({ admission, taxa, ...club }: ClubListing): ClubListingType {
  return { ...club, taxa: taxa.map((taxon) => ({ ...taxon })), admission: ClubAdmissionType[admission] };
}
