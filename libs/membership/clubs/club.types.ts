import { Field, ID, InputType, ObjectType } from '@nestjs/graphql';
import { Connection } from '../../platform/graphql/index.js';

@ObjectType('ClubApplication', { description: 'A keeper asks to join a club.' })
export class ClubApplicationType {
  @Field(() => ID)
  id!: string;

  @Field(() => ID)
  keeperId!: string;

  @Field(() => String, { description: 'The name of the keeper.' })
  keeper!: string;

  @Field(() => String, { nullable: true })
  message!: string | null;

  @Field(() => Date)
  appliedAt!: Date;
}

export const ClubApplicationConnection = Connection(ClubApplicationType, 'ClubApplication');

@InputType()
export class FoundClubInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => String, { description: 'Short name: 3 to 40 of a-z, 0-9 and hyphens.' })
  slug!: string;

  @Field(() => String)
  name!: string;
}

@InputType()
export class ApplyToClubInput {
  @Field(() => ID)
  keeperId!: string;

  @Field(() => String, { description: 'Short name of the club.' })
  slug!: string;

  @Field(() => String, { nullable: true, description: 'To the registrars.' })
  message?: string | null;
}

@InputType()
export class AnswerApplicationInput {
  @Field(() => ID)
  applicationId!: string;

  @Field(() => Boolean)
  admit!: boolean;

  @Field(() => String, { nullable: true, description: 'The keeper reads it in a notice.' })
  reason?: string | null;
}

@InputType()
export class LeaveClubInput {
  @Field(() => ID)
  clubId!: string;

  @Field(() => ID, { description: 'An own keeper; or any member, for a registrar.' })
  keeperId!: string;
}

@ObjectType()
export class ClubIdPayload {
  @Field(() => ID)
  clubId!: string;
}

@ObjectType()
export class ClubApplicationPayload {
  @Field(() => ClubApplicationType)
  application!: ClubApplicationType;
}
