import { Field, ID, InputType, ObjectType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';
import { KeeperKindType } from './membership.types.js';

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

  @Field(() => DayType, {
    nullable: true,
    description: 'First day on which the keeper counts as an adult’s; left out for an adult’s.',
  })
  minorUntil?: Day | null;

  @Field(() => String, { nullable: true, description: 'For a minor’s keeper: an invitation goes there.' })
  guardianEmail?: string | null;
}

@InputType()
export class RenewSessionInput {
  @Field(() => String)
  refreshToken!: string;
}

@InputType()
export class EndSessionInput {
  @Field(() => ID, { nullable: true, description: 'The sign-in in use when left out.' })
  sessionId?: string | null;
}

@InputType()
export class RequestEmailConfirmationInput {
  @Field(() => String, { description: 'The address of the account: a mistyped one is noticed here.' })
  email!: string;
}

@InputType()
export class ConfirmEmailInput {
  @Field(() => String, { description: 'From the mail.' })
  code!: string;
}

@InputType()
export class ChangePasswordInput {
  @Field(() => String)
  current!: string;

  @Field(() => String, { description: 'At least 12 characters.' })
  next!: string;
}

@InputType()
export class RequestPasswordResetInput {
  @Field(() => String)
  email!: string;
}

@InputType()
export class ResetPasswordInput {
  @Field(() => String, { description: 'From the mail.' })
  code!: string;

  @Field(() => String, { description: 'At least 12 characters.' })
  next!: string;
}

@ObjectType('Session', { description: 'A sign-in that is open.' })
export class SessionType {
  @Field(() => ID)
  id!: string;

  @Field(() => String, { nullable: true, description: 'What the device calls itself.' })
  device!: string | null;

  @Field(() => Date)
  createdAt!: Date;

  @Field(() => Date, { description: 'When a new access token was last taken.' })
  renewedAt!: Date;

  @Field(() => Date, { description: 'When it lapses unless it is renewed.' })
  expiresAt!: Date;

  @Field(() => Boolean, { description: 'The one this request was sent with.' })
  inUse!: boolean;
}

@ObjectType()
export class SignInPayload {
  @Field(() => String, { description: 'Send it as `Authorization: Bearer <token>`.' })
  accessToken!: string;

  @Field(() => Date)
  expiresAt!: Date;

  @Field(() => String, { description: 'Good for one `renewSession`, which gives the next one. Keep it secret.' })
  refreshToken!: string;

  @Field(() => Date)
  refreshUntil!: Date;

  @Field(() => ID)
  sessionId!: string;
}

@ObjectType()
export class OpenAccountPayload extends SignInPayload {
  @Field(() => ID)
  accountId!: string;

  @Field(() => ID)
  keeperId!: string;
}

@ObjectType()
export class EndSessionPayload {
  @Field(() => ID)
  sessionId!: string;
}

@ObjectType()
export class AccountPayload {
  @Field(() => ID)
  accountId!: string;
}

@ObjectType()
export class RequestPasswordResetPayload {
  @Field(() => String, { description: 'The same, whether an account has the address or not.' })
  message!: string;
}

@ObjectType()
export class ResetPasswordPayload {
  @Field(() => String)
  message!: string;
}
