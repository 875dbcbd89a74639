import { Field, ID, ObjectType } from '@nestjs/graphql';
import { CheckEffectType, SendCheckType } from '../graphql/transfer.enums.js';
import { type CheckResult } from './send-checks.core.js';

@ObjectType('TransferCheck', {
  description:
    'Something that stands against sending. Not legal or veterinary advice: the licensing authority and a licensed veterinarian decide.',
})
export class TransferCheckType {
  @Field(() => SendCheckType)
  check!: SendCheckType;

  @Field(() => CheckEffectType)
  effect!: CheckEffectType;

  @Field(() => ID, { description: 'The animal, the condition, or the transfer.' })
  subjectId!: string;

  @Field(() => String)
  fact!: string;

  @Field(() => String, { description: 'What would clear it.' })
  clears!: string;
}

/** GraphQL form of a check. */
export function toCheckType({ check, effect, ...rest }: CheckResult): TransferCheckType {
  return { ...rest, check: SendCheckType[check], effect: CheckEffectType[effect] };
}
