import { Field, ID, InputType, ObjectType } from '@nestjs/graphql';
import { Connection } from '../../platform/graphql/index.js';

@ObjectType('ClubInvitation', { description: 'An invitation to a club that waits, for its registrars.' })
export class ClubInvitationType {
  @Field(() => ID)
  id!: string;

  @Field(() => ID, { nullable: true, description: 'The keeper that is invited; null for one that was mailed.' })
  keeperId!: string | null;

  @Field(() => String, { nullable: true, description: 'Where it was mailed to.' })
  email!: string | null;

  @Field(() => Date)
  expiresAt!: Date;
}

export const ClubInvitationConnection = Connection(ClubInvitationType, 'ClubInvitation');

@InputType()
export class InviteToClubInput {
  @Field(() => ID)
  clubId!: string;

  @Field(() => ID, { nullable: true, description: 'A keeper by its id; or an address.' })
  keeperId?: string | null;

  @Field(() => String, { nullable: true, description: 'Where the code is mailed to.' })
  email?: string | null;
}

@InputType()
export class AcceptClubInvitationInput {
  @Field(() => ID, { description: 'The own keeper that joins.' })
  keeperId!: string;

  @Field(() => String, { nullable: true, description: 'From the mail; or the id.' })
  code?: string | null;

  @Field(() => ID, { nullable: true, description: 'From the notice.' })
  invitationId?: string | null;
}

@InputType()
export class WithdrawClubInvitationInput {
  @Field(() => ID)
  clubId!: string;

  @Field(() => ID)
  invitationId!: string;
}

@ObjectType()
export class ClubInvitationPayload {
  @Field(() => ID)
  clubId!: string;

  @Field(() => ID)
  invitationId!: string;
}
