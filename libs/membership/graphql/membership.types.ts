import { Field, ID, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';
import { type Keeper } from '../core/keeper.core.js';

export enum KeeperKindType {
  person = 'person',
  house = 'house',
}
registerEnumType(KeeperKindType, { name: 'KeeperKind' });

export enum HoldingsAudienceType {
  nobody = 'nobody',
  other_party = 'other_party',
  coordinator = 'coordinator',
  club = 'club',
}
registerEnumType(HoldingsAudienceType, {
  name: 'HoldingsAudience',
  description: 'Who, besides the keeper, learns that it holds an animal. Each is part of the next.',
  valuesMap: {
    nobody: { description: 'Nobody.' },
    other_party: {
      description: 'Who receives the animal by an open transfer, or was shown the name in an open thread about it.',
    },
    coordinator: { description: 'Also the coordinator of the region, as a number.' },
    club: { description: 'Also the members of its clubs.' },
  },
});

@ObjectType('Club')
export class ClubType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  name!: string;

  @Field(() => String, { description: 'Short name for the command line.' })
  slug!: string;
}

@ObjectType('OwnKeeper', { description: 'A keeper the viewer acts for.' })
export class OwnKeeperType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  name!: string;

  @Field(() => KeeperKindType)
  kind!: KeeperKindType;

  @Field(() => String, { nullable: true, description: 'ISO 3166-2.' })
  region!: string | null;

  @Field(() => HoldingsAudienceType)
  holdingsShown!: HoldingsAudienceType;

  @Field(() => Boolean)
  lineageShared!: boolean;

  @Field(() => DayType, {
    nullable: true,
    description: 'First day on which it counts as an adult’s; null where it always has. Told to its own people only.',
  })
  minorUntil!: Day | null;

  @Field(() => Boolean, {
    description: 'It is a minor’s and no guardian has accepted yet: it records its animals, and nothing with others.',
  })
  guardianAwaited!: boolean;

  @Field(() => [ClubType])
  clubs!: ClubType[];
}

/** GraphQL form of an own keeper. */
export function toOwnKeeper(keeper: Keeper): OwnKeeperType {
  return {
    ...keeper,
    kind: KeeperKindType[keeper.kind],
    holdingsShown: HoldingsAudienceType[keeper.holdingsShown],
    clubs: [...keeper.clubs],
  };
}

@ObjectType('Me')
export class MeType {
  @Field(() => ID)
  accountId!: string;

  @Field(() => String)
  email!: string;

  @Field(() => Date, {
    nullable: true,
    description: 'Null until the code from the first mail was given: no other mail goes there before.',
  })
  emailConfirmedAt!: Date | null;

  @Field(() => [OwnKeeperType])
  keepers!: OwnKeeperType[];
}
