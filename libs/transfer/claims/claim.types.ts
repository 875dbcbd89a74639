import { Field, ID, InputType, Int, ObjectType, registerEnumType } from '@nestjs/graphql';
import { AnimalShareType } from '../../custody/index.js';
import { type Day, type Viewer } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { answerBy } from './claim.core.js';
import { type ClaimView, partiesOf } from './claim.store.js';
import { AnimalShareInput } from '../title/payment.inputs.js';

export enum ClaimOutcomeType {
  withdrawn = 'withdrawn',
  settled = 'settled',
  lapsed = 'lapsed',
}
registerEnumType(ClaimOutcomeType, {
  name: 'ClaimOutcome',
  description: 'Taken back, settled by all sides, or lapsed because the claimant answered nothing.',
});

@ObjectType('ClaimParty', { description: 'Somebody with a say in a claim. Nobody is named: parties count from 1.' })
export class ClaimPartyType {
  @Field(() => Int)
  number!: number;

  @Field(() => Boolean)
  isClaimant!: boolean;

  @Field(() => Boolean, { description: 'Whether this is a keeper you own.' })
  isYou!: boolean;

  @Field(() => Int, { description: 'Parts of all parts, by the record when the claim was made; 0 for none.' })
  recordedParts!: number;

  @Field(() => Int, { nullable: true, description: 'Parts by the proposal at hand.' })
  proposedParts!: number | null;

  @Field(() => Boolean, { description: 'Whether this party agrees to the proposal at hand.' })
  agrees!: boolean;

  @Field(() => Boolean, { description: 'Has no account, so it is not asked, and its part does not shrink.' })
  isOutside!: boolean;

  @Field(() => String, { nullable: true, description: 'What this owner states.' })
  reply!: string | null;

  @Field(() => Date, { nullable: true })
  repliedAt!: Date | null;
}

@ObjectType('OwnershipClaim', {
  description:
    'A keeper’s statement that it owns a share of an animal, and the owners’ own. Statements, not findings: a court decides what the law says. For its parties only.',
})
export class OwnershipClaimType {
  @Field(() => ID)
  id!: string;

  @Field(() => ID)
  animalId!: string;

  @Field(() => String)
  registerNumber!: string;

  @Field(() => String)
  statement!: string;

  @Field(() => AnimalShareType, { description: 'The share of the whole that is claimed.' })
  share!: AnimalShareType;

  @Field(() => DayType, { description: 'Since when, by the claimant.' })
  since!: Day;

  @Field(() => Date)
  madeAt!: Date;

  @Field(() => [ClaimPartyType], {
    description: 'The claimant first, then everybody who owned it when it was claimed.',
  })
  parties!: ClaimPartyType[];

  @Field(() => Int, { description: 'The number of the proposal at hand; 0 when there is none.' })
  proposal!: number;

  @Field(() => Date, { nullable: true })
  proposedAt!: Date | null;

  @Field(() => DayType, {
    nullable: true,
    description:
      'Last day for the claimant to answer, by proposing shares or agreeing to them; after it the claim lapses. Null: it is not the claimant’s turn.',
  })
  answerBy!: Day | null;

  @Field(() => Date, { nullable: true })
  endedAt!: Date | null;

  @Field(() => ClaimOutcomeType, { nullable: true })
  outcome!: ClaimOutcomeType | null;
}

export const OwnershipClaimConnection = Connection(OwnershipClaimType, 'OwnershipClaim');

@InputType()
export class ClaimOwnershipInput {
  @Field(() => ID, { description: 'The own keeper who claims.' })
  keeperId!: string;

  @Field(() => ID, { nullable: true, description: 'The animal; or give `registerNumber`.' })
  animalId?: string | null;

  @Field(() => String, { nullable: true })
  registerNumber?: string | null;

  @Field(() => String, { description: 'Why, for the owners by the record; it cannot be changed afterwards.' })
  statement!: string;

  @Field(() => AnimalShareInput)
  share!: AnimalShareInput;

  @Field(() => DayType)
  since!: Day;
}

@InputType()
export class WithdrawClaimInput {
  @Field(() => ID)
  claimId!: string;
}

@InputType()
export class ReplyToClaimInput extends WithdrawClaimInput {
  @Field(() => String, { description: 'Your side, once; it cannot be changed afterwards.' })
  statement!: string;
}

@InputType()
export class ProposedShareInput {
  @Field(() => Int, { description: 'The number of the party.' })
  party!: number;

  @Field(() => Int, { description: 'Parts of the sum of all parts; 0 for none.' })
  parts!: number;
}

@InputType()
export class ProposeSharesInput extends WithdrawClaimInput {
  @Field(() => [ProposedShareInput], { description: 'Every party once.' })
  shares!: ProposedShareInput[];
}

@InputType()
export class AgreeToSharesInput extends WithdrawClaimInput {
  @Field(() => Int, { description: 'The proposal you read; refused when another one is at hand.' })
  proposal!: number;
}

@ObjectType()
export class ClaimOwnershipPayload {
  @Field(() => OwnershipClaimType)
  claim!: OwnershipClaimType;
}

@ObjectType()
export class ReplyToClaimPayload extends ClaimOwnershipPayload {}

@ObjectType()
export class ProposeSharesPayload extends ClaimOwnershipPayload {}

@ObjectType()
export class AgreeToSharesPayload extends ClaimOwnershipPayload {}

@ObjectType()
export class WithdrawClaimPayload extends ClaimOwnershipPayload {}

/** GraphQL form of a claim, for one of its parties. */
export function toClaimType(viewer: Viewer, claim: ClaimView): OwnershipClaimType {
  const mine = partiesOf(viewer, claim);
  return {
    id: claim.id,
    animalId: claim.animalId,
    registerNumber: claim.registerNumber,
    statement: claim.statement,
    share: claim.share,
    since: claim.since,
    madeAt: claim.madeAt,
    proposal: claim.proposal,
    proposedAt: claim.proposedAt,
    answerBy: claim.awaitsSince === null ? null : answerBy(claim.awaitsSince),
    endedAt: claim.endedAt,
    outcome: claim.outcome === null ? null : ClaimOutcomeType[claim.outcome],
    parties: claim.parties.map(({ number, owner, recordedParts, proposedParts, agreedTo, reply, repliedAt }) => ({
      number,
      isClaimant: number === 1,
      isYou: mine.includes(number),
      isOutside: owner.kind === 'outside_party',
      recordedParts,
      proposedParts,
      agrees: claim.proposal > 0 && agreedTo === claim.proposal,
      reply,
      repliedAt,
    })),
  };
}
