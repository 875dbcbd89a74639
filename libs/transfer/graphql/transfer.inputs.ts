import { Field, ID, InputType, Int, ObjectType } from '@nestjs/graphql';
import { type Day } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';
import {
  ArrivalStateType,
  HandOverWayType,
  TransferFailureType,
  TransferKindType,
  TransferTitleType,
  TransitRiskType,
} from './transfer.enums.js';
import { AnimalShareInput, InstalmentInput } from '../title/payment.inputs.js';
import { LoanTermsInput } from '../loans/loan-terms.types.js';
import { OfferEggsInput, ReceiveEggsInput, TransferEggsInput } from '../eggs/transfer-eggs.types.js';
import { TransferConditionInput } from './condition.inputs.js';
import { TransferType } from './transfer.types.js';

@InputType()
export class OutsidePartyInput {
  @Field(() => String)
  name!: string;

  @Field(() => String, { nullable: true, description: 'How to reach them; for the giver only.' })
  contact?: string | null;
}

@InputType()
export class OfferItemInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => Int, {
    nullable: true,
    description: 'Of a lot: how many. All of it when left out; fewer are split off as a lot of their own.',
  })
  count?: number | null;

  @Field(() => Boolean, { nullable: true, description: 'She may carry eggs or young: the receiver is told of it.' })
  gravid?: boolean | null;

  @Field(() => AnimalShareInput, {
    nullable: true,
    description: 'The part of the whole animal that moves; all the giver owns when left out.',
  })
  share?: AnimalShareInput | null;
}

@InputType()
export class PriceInput {
  @Field(() => Int, { description: 'In minor units, cents for EUR.' })
  minor!: number;

  @Field(() => String, { description: 'ISO 4217.' })
  currency!: string;
}

@InputType()
export class OfferTransferInput {
  @Field(() => ID)
  fromKeeperId!: string;

  @Field(() => TransferKindType)
  kind!: TransferKindType;

  @Field(() => ID, { nullable: true, description: 'The receiving keeper; or give `toOutsideParty`.' })
  toKeeperId?: string | null;

  @Field(() => OutsidePartyInput, { nullable: true, description: 'A receiver without an account.' })
  toOutsideParty?: OutsidePartyInput | null;

  @Field(() => [OfferItemInput])
  items!: OfferItemInput[];

  @Field(() => [OfferEggsInput], { nullable: true, description: 'Eggs of clutches; `items` may be empty then.' })
  eggs?: OfferEggsInput[] | null;

  @Field(() => ID, {
    nullable: true,
    description:
      'A whole family: everybody who is in this enclosure of yours on the day, and its eggs, all of it or nothing. What is named in `items` or `eggs` as well goes as it is named there.',
  })
  familyOfEnclosureId?: string | null;

  @Field(() => DayType, { nullable: true, description: 'The day of the family; today when left out.' })
  familyOn?: Day | null;

  @Field(() => DayType, { nullable: true, description: 'The day on which lots are split; today when left out.' })
  splitOn?: Day | null;

  @Field(() => DayType, {
    nullable: true,
    description: 'Last day on which it can be accepted; the next day the offer is over. No end when left out.',
  })
  answerBy?: Day | null;

  @Field(() => [TransferConditionInput], {
    nullable: true,
    description: 'What has to come to pass before sending, at most ten.',
  })
  conditions?: TransferConditionInput[] | null;

  @Field(() => TransitRiskType, { nullable: true })
  transitRisk?: TransitRiskType | null;

  @Field(() => String, { nullable: true, description: 'For the two parties only.' })
  message?: string | null;

  @Field(() => PriceInput, { nullable: true, description: 'For the two parties only.' })
  price?: PriceInput | null;

  @Field(() => TransferTitleType, {
    nullable: true,
    description: 'When property moves: on_receipt when left out, stays for a loan and a return.',
  })
  title?: TransferTitleType | null;

  @Field(() => DayType, { nullable: true, description: 'Of a breeding loan: the last day for them to come back.' })
  dueBack?: Day | null;

  @Field(() => LoanTermsInput, { nullable: true, description: 'Of a breeding loan; they are fixed with the offer.' })
  loanTerms?: LoanTermsInput | null;

  @Field(() => [InstalmentInput], {
    nullable: true,
    description:
      'Where property waits for payment: parts of the price that sum to it, in the order they fall due, at most 24.',
  })
  instalments?: InstalmentInput[] | null;
}

@InputType()
export class TransferStepInput {
  @Field(() => ID)
  transferId!: string;

  @Field(() => Int, {
    nullable: true,
    description: 'Refuses the step when the transfer has moved on since this version.',
  })
  expectedVersion?: number | null;
}

@InputType()
export class AcceptTransferInput extends TransferStepInput {}

@InputType()
export class CountersignTransferInput {
  @Field(() => ID)
  transferId!: string;

  @Field(() => Int, { nullable: true })
  expectedVersion?: number | null;
}

@ObjectType()
export class CountersignTransferPayload {
  @Field(() => TransferType)
  transfer!: TransferType;
}

@InputType()
export class WithdrawCountersignatureInput {
  @Field(() => ID)
  transferId!: string;

  @Field(() => Int, { nullable: true })
  expectedVersion?: number | null;
}

@ObjectType()
export class WithdrawCountersignaturePayload {
  @Field(() => TransferType)
  transfer!: TransferType;
}

@InputType()
export class DeclineTransferInput extends TransferStepInput {}

@InputType()
export class WithdrawTransferInput extends TransferStepInput {}

@InputType()
export class CancelTransferInput extends TransferStepInput {
  @Field(() => String, { description: 'Why, for the other side.' })
  reason!: string;
}

@InputType()
export class FailTransferInput extends TransferStepInput {
  @Field(() => TransferFailureType)
  failure!: TransferFailureType;

  @Field(() => String, { nullable: true, description: 'For the two parties only.' })
  reason?: string | null;
}

@InputType()
export class LeaveOutItemsInput extends TransferStepInput {
  @Field(() => [ID], { description: 'Animals or lots of the transfer that have not arrived and were not sent.' })
  animalIds!: string[];

  @Field(() => [TransferEggsInput], { nullable: true, description: 'Eggs that were not sent.' })
  eggs?: TransferEggsInput[] | null;
}

@InputType()
export class SendTransferInput extends TransferStepInput {
  @Field(() => DayType, { description: 'The day the animals left; not in the future.' })
  sentOn!: Day;

  @Field(() => HandOverWayType, { nullable: true })
  way?: HandOverWayType | null;

  @Field(() => String, { nullable: true, description: 'For the two parties only.' })
  carrier?: string | null;

  @Field(() => String, { nullable: true, description: 'For the two parties only.' })
  tracking?: string | null;

  @Field(() => String, { nullable: true, description: 'Why it is sent in spite of a quarantine.' })
  reason?: string | null;
}

@InputType()
export class ArrivalInput {
  @Field(() => ArrivalStateType)
  state!: ArrivalStateType;

  @Field(() => Int)
  count!: number;
}

@InputType()
export class ReceiveItemInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => [ArrivalInput], { description: 'Each state once; the counts sum to the number of animals.' })
  arrivals!: ArrivalInput[];

  @Field(() => String, { nullable: true, description: 'About the arrival; for the two parties only.' })
  note?: string | null;
}

@InputType()
export class ReceiveTransferInput extends TransferStepInput {
  @Field(() => DayType, { description: 'The day the animals arrived: from then on they are the receiver’s.' })
  receivedOn!: Day;

  @Field(() => [ReceiveItemInput], {
    description: 'Every item that has not arrived yet; nothing is received by itself.',
  })
  items!: ReceiveItemInput[];

  @Field(() => [ReceiveEggsInput], { nullable: true, description: 'How the eggs arrived: dead for those that failed.' })
  eggs?: ReceiveEggsInput[] | null;

  @Field(() => Boolean, {
    nullable: true,
    description: 'Only the items named have arrived, the others are still on their way: the transfer stays sent.',
  })
  moreToCome?: boolean | null;
}

@InputType()
export class TakeUpTransferInput {
  @Field(() => String, { description: 'As it stands on the paper; blanks, hyphens and small letters do not matter.' })
  claimCode!: string;

  @Field(() => ID, { description: 'The own keeper who has had the animals since the hand-over.' })
  keeperId!: string;
}

@ObjectType()
export class OfferTransferPayload {
  @Field(() => TransferType)
  transfer!: TransferType;

  @Field(() => String, {
    nullable: true,
    description:
      'For an outside party: the code with which the record can be taken up. It is printed on the giver’s paper too.',
  })
  claimCode!: string | null;
}

@ObjectType()
export class AcceptTransferPayload {
  @Field(() => TransferType)
  transfer!: TransferType;
}

@ObjectType()
export class DeclineTransferPayload extends AcceptTransferPayload {}

@ObjectType()
export class WithdrawTransferPayload extends AcceptTransferPayload {}

@InputType()
export class AddArrivalPhotosInput extends TransferStepInput {
  @Field(() => ID)
  animalId!: string;

  @Field(() => [ID], { description: 'Files the receiver sent for this animal; an item holds at most 10.' })
  fileIds!: string[];
}

@ObjectType()
export class AddArrivalPhotosPayload extends AcceptTransferPayload {}

@ObjectType()
export class SettleTransferConditionPayload extends AcceptTransferPayload {}

@ObjectType()
export class CancelTransferPayload extends AcceptTransferPayload {}

@ObjectType()
export class FailTransferPayload extends AcceptTransferPayload {}

@ObjectType()
export class LeaveOutItemsPayload extends AcceptTransferPayload {}

@ObjectType()
export class SendTransferPayload extends AcceptTransferPayload {}

@ObjectType()
export class ReceiveTransferPayload extends AcceptTransferPayload {}

@ObjectType()
export class TakeUpTransferPayload extends AcceptTransferPayload {}
