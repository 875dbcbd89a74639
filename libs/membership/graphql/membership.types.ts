import { Field, ID, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type Keeper } from '../core/keeper.core.js';

export enum KeeperKindType {
  person = 'person',
  house = 'house',
}
registerEnumType(KeeperKindType, { name: 'KeeperKind' });

export enum HoldingsAudienceType {
  nobody = 'nobody',
  coordinator = 'coordinator',
  club = 'club',
}
registerEnumType(HoldingsAudienceType, {
  name: 'HoldingsAudience',
  description: 'Who, besides the keeper, learns what the keeper holds.',
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

  @Field(() => [OwnKeeperType])
  keepers!: OwnKeeperType[];
}

@InputType()
export class SignInInput {
  @Field(() => String)
  email!: string;

  @Field(() => String)
  password!: string;
}

@InputType()
export class OpenAccountInput {
  @Field(() => String)
  email!: string;

  @Field(() => String, { description: 'At least 12 characters.' })
  password!: string;

  @Field(() => String)
  keeperName!: string;

  @Field(() => KeeperKindType, { nullable: true, description: 'A person when left out.' })
  kind?: KeeperKindType | null;
}

@ObjectType()
export class SignInPayload {
  @Field(() => String, { description: 'Send it as `Authorization: Bearer <token>`.' })
  accessToken!: string;

  @Field(() => Date)
  expiresAt!: Date;
}

@ObjectType()
export class OpenAccountPayload extends SignInPayload {
  @Field(() => ID)
  accountId!: string;

  @Field(() => ID)
  keeperId!: string;
}
