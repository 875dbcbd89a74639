import { Field, ID, InputType, ObjectType, registerEnumType } from '@nestjs/graphql';
import { CheckEffectType } from '../graphql/transfer.enums.js';

export enum PolicyCheckType {
  document = 'document',
  quarantine = 'quarantine',
  minimum = 'minimum',
}
registerEnumType(PolicyCheckType, {
  name: 'PolicyCheck',
  description: 'Checks before sending of which a club decides what they do between its members.',
});

@ObjectType('ClubPolicyLine', { description: 'What a check before sending does between members of the club.' })
export class ClubPolicyLineType {
  @Field(() => PolicyCheckType)
  check!: PolicyCheckType;

  @Field(() => CheckEffectType)
  effect!: CheckEffectType;

  @Field(() => Boolean, { description: 'False where the club says nothing and the default holds.' })
  saidByClub!: boolean;
}

@InputType()
export class SetClubPolicyInput {
  @Field(() => ID)
  clubId!: string;

  @Field(() => PolicyCheckType)
  check!: PolicyCheckType;

  @Field(() => CheckEffectType, { nullable: true, description: 'Null or left out: the default of the check holds.' })
  effect?: CheckEffectType | null;
}

@ObjectType()
export class SetClubPolicyPayload {
  @Field(() => [ClubPolicyLineType], { description: 'One a check.' })
  policy!: ClubPolicyLineType[];
}
