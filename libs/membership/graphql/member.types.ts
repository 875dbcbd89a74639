import { Field, ID, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';
import { KeeperKindType, OwnKeeperType } from './membership.types.js';

export enum KeeperRoleType {
  owner = 'owner',
  helper = 'helper',
  guardian = 'guardian',
}
registerEnumType(KeeperRoleType, {
  name: 'KeeperRole',
  description:
    'An owner does everything; a helper the daily work, but changes neither members nor sharing. A guardian does what an owner does, and alone speaks for a minor’s keeper: countersigns transfers, writes threads, joins clubs.',
});

@ObjectType('KeeperMember', { description: 'Somebody who acts for a keeper.' })
export class KeeperMemberType {
  @Field(() => ID)
  accountId!: string;

  @Field(() => String)
  email!: string;

  @Field(() => KeeperRoleType)
  role!: KeeperRoleType;

  @Field(() => Date)
  since!: Date;
}

@ObjectType('KeeperInvitation', { description: 'An invitation that waits.' })
export class KeeperInvitationType {
  @Field(() => ID)
  id!: string;

  @Field(() => String)
  email!: string;

  @Field(() => KeeperRoleType)
  role!: KeeperRoleType;

  @Field(() => Date)
  expiresAt!: Date;
}

@ObjectType('KeeperPeople', { description: 'Who acts for a keeper, and who is invited to; for its owners.' })
export class KeeperPeopleType {
  @Field(() => [KeeperMemberType])
  members!: KeeperMemberType[];

  @Field(() => [KeeperInvitationType])
  invitations!: KeeperInvitationType[];
}

@InputType()
export class InviteToKeeperInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => String)
  email!: string;

  @Field(() => KeeperRoleType)
  role!: KeeperRoleType;
}

@InputType()
export class AcceptInvitationInput {
  @Field(() => String, { description: 'From the mail.' })
  code!: string;
}

@InputType()
export class WithdrawInvitationInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => ID)
  invitationId!: string;
}

@InputType()
export class SetKeeperRoleInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => ID)
  accountId!: string;

  @Field(() => KeeperRoleType)
  role!: KeeperRoleType;
}

@InputType()
export class EndKeeperMembershipInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => ID, { description: 'Of another person, for an owner; or the own one, to leave.' })
  accountId!: string;
}

@InputType()
export class OpenKeeperInput {
  @Field(() => String)
  name!: string;

  @Field(() => KeeperKindType, { nullable: true, description: 'A person when left out.' })
  kind?: KeeperKindType | null;

  @Field(() => String, { nullable: true, description: 'ISO 3166-2, for example `AT-7`.' })
  region?: string | null;

  @Field(() => DayType, {
    nullable: true,
    description: 'First day on which the keeper counts as an adult’s; left out for an adult’s.',
  })
  minorUntil?: Day | null;

  @Field(() => String, { nullable: true, description: 'For a minor’s keeper: an invitation goes there.' })
  guardianEmail?: string | null;
}

@InputType()
export class CorrectMinorityInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => DayType, { description: 'First day on which the keeper counts as an adult’s; a day to come.' })
  minorUntil!: Day;

  @Field(() => String, { description: 'What was wrong with the day before.' })
  reason!: string;
}

@InputType()
export class UpdateKeeperInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => String, { nullable: true })
  name?: string;

  @Field(() => String, { nullable: true, description: 'ISO 3166-2; null for none.' })
  region?: string | null;
}

@ObjectType()
export class KeeperPeoplePayload {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => KeeperPeopleType, { nullable: true, description: 'Null for somebody who has just left.' })
  people!: KeeperPeopleType | null;
}

@ObjectType()
export class OwnKeeperPayload {
  @Field(() => OwnKeeperType)
  keeper!: OwnKeeperType;
}
