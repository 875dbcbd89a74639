import { Field, ID, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalType } from '../../animal/index.js';
import { type Day } from '../../kernel/index.js';
import { HoldingsAudienceType } from '../../membership/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';

@ObjectType('SharingChoice', { description: 'What is set for a collection or for one animal.' })
export class SharingChoiceType {
  @Field(() => HoldingsAudienceType, { nullable: true, description: 'Null: as the level above says.' })
  holdingsShown!: HoldingsAudienceType | null;

  @Field(() => Boolean, { description: 'Its lineage is not shown in the clubs, whatever is shown otherwise.' })
  lineageWithheld!: boolean;
}

@ObjectType('Collection', { description: 'A named part of what an own keeper has.' })
export class CollectionType {
  @Field(() => ID)
  id!: string;

  @Field(() => ID)
  keeperId!: string;

  @Field(() => String)
  name!: string;

  @Field(() => SharingChoiceType)
  sharing!: SharingChoiceType;
}

export const CollectionConnection = Connection(CollectionType, 'Collection');

@ObjectType('AnimalSharing', { description: 'What an own keeper shows of an animal it has or owns.' })
export class AnimalSharingType {
  @Field(() => SharingChoiceType, { description: 'What is set for this animal.' })
  own!: SharingChoiceType;

  @Field(() => HoldingsAudienceType, {
    description: 'Who learns that the keeper has it: by the animal, else its collection, else what the keeper shows.',
  })
  holdingsShown!: HoldingsAudienceType;

  @Field(() => Boolean, { description: 'Whether its lineage is shown in the keeper’s clubs.' })
  lineageShared!: boolean;
}

@ObjectType('ReadingParty')
export class ReadingPartyType {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => String)
  label!: string;
}

@ObjectType('ReadingGrant', { description: 'A guest may read an animal until a day.' })
export class ReadingGrantType {
  @Field(() => ID)
  id!: string;

  @Field(() => ReadingPartyType)
  guest!: ReadingPartyType;

  @Field(() => ReadingPartyType)
  grantedBy!: ReadingPartyType;

  @Field(() => DayType)
  from!: Day;

  @Field(() => DayType, { description: 'The first day on which the guest reads it no longer.' })
  until!: Day;

  /** Not part of the schema: whose record it is. */
  animalId!: string;
}

export const ReadingGrantConnection = Connection(ReadingGrantType, 'ReadingGrant');

export enum WayType {
  has_it = 'has_it',
  owns_it = 'owns_it',
  offered = 'offered',
  guest = 'guest',
  had_it = 'had_it',
  club_lineage = 'club_lineage',
  club_holding = 'club_holding',
  coordinator_count = 'coordinator_count',
  thread_holding = 'thread_holding',
}
registerEnumType(WayType, {
  name: 'SightWay',
  description: 'In what way somebody could see an animal.',
  valuesMap: {
    has_it: { description: 'Had it that day: all of its record.' },
    owns_it: { description: 'Owned a share: all of its record.' },
    offered: { description: 'Was offered it: its record.' },
    guest: { description: 'Was let in as a guest: its record and quarantine.' },
    had_it: { description: 'Had or owned it before: its record up to then.' },
    club_lineage: { description: 'Members of a club: its lineage.' },
    club_holding: { description: 'Members of a club: which keeper had it.' },
    coordinator_count: { description: 'Coordinators of a club: as one of the animals of the region.' },
    thread_holding: { description: 'Asked about it and was shown the name: which keeper had it.' },
  },
});

@ObjectType('Sight', { description: 'One who could see an animal on the day asked about.' })
export class SightType {
  @Field(() => WayType)
  way!: WayType;

  @Field(() => ID, {
    nullable: true,
    description: 'Null for a club, and for a keeper you did not deal with over this animal.',
  })
  keeperId!: string | null;

  @Field(() => ID, { nullable: true })
  clubId!: string | null;

  @Field(() => String, {
    nullable: true,
    description: 'Name of the keeper or club; null where the keeper is not named.',
  })
  label!: string | null;

  @Field(() => DayType)
  since!: Day;

  @Field(() => DayType, { nullable: true, description: 'The first day without it; null while it goes on.' })
  until!: Day | null;
}

export const SightConnection = Connection(SightType, 'Sight');

@InputType()
export class OpenCollectionInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => String)
  name!: string;
}

@InputType()
export class RenameCollectionInput {
  @Field(() => ID)
  collectionId!: string;

  @Field(() => String)
  name!: string;
}

@ObjectType()
export class CollectionPayload {
  @Field(() => CollectionType)
  collection!: CollectionType;
}

@InputType()
export class MoveToCollectionInput {
  @Field(() => [ID], { description: 'Animals or lots of one own keeper.' })
  animalIds!: string[];

  @Field(() => ID, { nullable: true, description: 'Null or left out: into none.' })
  collectionId?: string | null;
}

@InputType()
export class SetCollectionSharingInput {
  @Field(() => ID)
  collectionId!: string;

  @Field(() => HoldingsAudienceType, {
    nullable: true,
    description: 'Null or left out: as the keeper shows everything.',
  })
  holdingsShown?: HoldingsAudienceType | null;

  @Field(() => Boolean)
  lineageWithheld!: boolean;
}

@InputType()
export class SetAnimalSharingInput {
  @Field(() => [ID], { description: 'Animals or lots that one own keeper has, or else owns.' })
  animalIds!: string[];

  @Field(() => HoldingsAudienceType, {
    nullable: true,
    description: 'Null or left out: as the collection says, or the keeper. Says nothing for who only owns it.',
  })
  holdingsShown?: HoldingsAudienceType | null;

  @Field(() => Boolean)
  lineageWithheld!: boolean;
}

@ObjectType()
export class SharedAnimalsPayload {
  @Field(() => [AnimalType])
  animals!: AnimalType[];
}

@InputType()
export class GrantReadingInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => ID, { description: 'The guest: ask for the id.' })
  toKeeperId!: string;

  @Field(() => DayType, { description: 'The last day on which the guest reads it; within a year.' })
  until!: Day;
}

@InputType()
export class EndGrantInput {
  @Field(() => ID)
  grantId!: string;
}

@ObjectType()
export class ReadingGrantPayload {
  @Field(() => ReadingGrantType)
  grant!: ReadingGrantType;
}
