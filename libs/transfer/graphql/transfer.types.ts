import { Field, ID, Int, ObjectType } from '@nestjs/graphql';
import { AnimalShareType } from '../../custody/index.js';
import { HoldingDocumentKindType } from '../../document/index.js';
import { actsFor, type Day, type Viewer } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { maySeePrice, sidesOf, viewerCan } from '../core/policy.core.js';
import { type Failure, type Transfer, type TransferCondition, type TransferItem } from '../core/transfer.core.js';
import { PaymentPlanType, toPaymentPlan } from '../title/payment.types.js';
import { LoanTermsType, toLoanTermsType } from '../loans/loan-terms.types.js';
import { TAKEN_UP_LABEL, type VisibleTransfer } from '../store/transfer.store.js';
import { TransferEggsType, toEggsTypes } from '../eggs/transfer-eggs.types.js';
import {
  ArrivalStateType,
  ConditionKindType,
  ConditionSettlementType,
  HandOverWayType,
  PartyKindType,
  TransferFailureType,
  TransferKindType,
  TransferSideType,
  TransferStateType,
  TransferTitleType,
  TransitRiskType,
} from './transfer.enums.js';
import { TransferViewerCanType } from './viewer-can.types.js';

@ObjectType('TransferParty')
export class TransferPartyType {
  @Field(() => PartyKindType)
  kind!: PartyKindType;

  @Field(() => ID, { nullable: true, description: 'Null for an outside party.' })
  keeperId!: string | null;

  @Field(() => String, { description: 'The name, for the two parties of the transfer.' })
  label!: string;
}

@ObjectType('Price')
export class PriceType {
  @Field(() => Int, { description: 'In minor units, cents for EUR.' })
  minor!: number;

  @Field(() => String, { description: 'ISO 4217.' })
  currency!: string;
}

@ObjectType('Arrival')
export class ArrivalType {
  @Field(() => ArrivalStateType)
  state!: ArrivalStateType;

  @Field(() => Int)
  count!: number;
}

@ObjectType('TransferItem', { description: 'One animal, or one whole lot.' })
export class TransferItemType {
  @Field(() => ID)
  id!: string;

  @Field(() => ID)
  animalId!: string;

  @Field(() => Int, { description: 'How many animals were offered.' })
  count!: number;

  @Field(() => [ArrivalType], { description: 'Empty until received.' })
  arrivals!: ArrivalType[];

  @Field(() => DayType, { nullable: true })
  receivedOn!: Day | null;

  @Field(() => Boolean, { description: 'The giver says that it was left out of what was sent.' })
  notSent!: boolean;

  @Field(() => Boolean, { description: 'The giver says that the female may carry eggs or young.' })
  gravid!: boolean;

  @Field(() => AnimalShareType, {
    nullable: true,
    description: 'The part of the whole animal that moves; null = all the giver owned.',
  })
  share!: AnimalShareType | null;

  @Field(() => Boolean, { description: 'It has arrived and is still the giver’s, until it is paid for.' })
  titleDue!: boolean;

  @Field(() => String, { nullable: true, description: 'What the receiver says of the arrival, for the two parties.' })
  note!: string | null;

  @Field(() => [ID], {
    description:
      'Pictures of the arrival, at most 10. Both parties fetch them at GET /transfers/TRANSFER-ID/arrival-photos/FILE-ID.',
  })
  photoFileIds!: string[];
}

@ObjectType('TransferCondition', { description: 'What has to come to pass before the animals are sent.' })
export class TransferConditionType {
  @Field(() => ID)
  id!: string;

  @Field(() => ConditionKindType)
  kind!: ConditionKindType;

  @Field(() => HoldingDocumentKindType, { nullable: true })
  documentKind!: HoldingDocumentKindType | null;

  @Field(() => String, { nullable: true })
  text!: string | null;

  @Field(() => ConditionSettlementType, { nullable: true, description: 'What the receiver said of it.' })
  settledAs!: ConditionSettlementType | null;
}

@ObjectType('TransferCountersignature', {
  description: 'A side of which another person agrees before anything is sent.',
})
export class TransferCountersignatureType {
  @Field(() => TransferSideType)
  side!: TransferSideType;

  @Field(() => Boolean, { description: 'False while it is awaited.' })
  signed!: boolean;
}

@ObjectType('TransferFailure', { description: 'What one side said of a transfer that came to nothing.' })
export class TransferFailureDetailsType {
  @Field(() => TransferFailureType)
  kind!: TransferFailureType;

  @Field(() => TransferSideType)
  declaredBy!: TransferSideType;

  @Field(() => Date)
  declaredAt!: Date;
}

@ObjectType('Transfer', {
  description:
    'Animals on their way from one keeper to another, or to an outside party. Visible to the two parties only.',
})
export class TransferType {
  @Field(() => ID)
  id!: string;

  @Field(() => TransferStateType)
  state!: TransferStateType;

  @Field(() => TransferKindType)
  kind!: TransferKindType;

  @Field(() => TransferPartyType)
  from!: TransferPartyType;

  @Field(() => TransferPartyType)
  to!: TransferPartyType;

  @Field(() => String, { nullable: true })
  message!: string | null;

  @Field(() => PriceType, { nullable: true, description: 'Not told to helpers of a keeper.' })
  price!: PriceType | null;

  @Field(() => TransferTitleType)
  title!: TransferTitleType;

  @Field(() => DayType, { nullable: true, description: 'Of a loan: the last day for the animals to come back.' })
  dueBack!: Day | null;

  @Field(() => LoanTermsType, { nullable: true, description: 'Of a loan, where terms were agreed with the offer.' })
  loanTerms!: LoanTermsType | null;

  @Field(() => PaymentPlanType, {
    nullable: true,
    description: 'Where property waits for payment. Not told to helpers of a keeper.',
  })
  paymentPlan!: PaymentPlanType | null;

  @Field(() => Date)
  offeredAt!: Date;

  @Field(() => DayType, { nullable: true })
  sentOn!: Day | null;

  @Field(() => DayType, { nullable: true })
  receivedOn!: Day | null;

  @Field(() => DayType, { nullable: true, description: 'Last day on which the offer can be accepted.' })
  answerBy!: Day | null;

  @Field(() => TransitRiskType, { nullable: true })
  transitRisk!: TransitRiskType | null;

  @Field(() => [TransferConditionType], { description: 'At most ten.' })
  conditions!: TransferConditionType[];

  @Field(() => [TransferCountersignatureType], {
    description:
      'Of sides that need one; `sendTransfer` waits for them. The other side’s is shown once the offer was accepted.',
  })
  countersignatures!: TransferCountersignatureType[];

  @Field(() => HandOverWayType, { nullable: true })
  way!: HandOverWayType | null;

  @Field(() => String, { nullable: true, description: 'For the two parties only.' })
  carrier!: string | null;

  @Field(() => String, { nullable: true, description: 'For the two parties only.' })
  tracking!: string | null;

  @Field(() => TransferSideType, { nullable: true })
  cancelledBy!: TransferSideType | null;

  @Field(() => TransferFailureDetailsType, {
    nullable: true,
    description: 'One side’s word while the transfer is sent; both sides’ once it has failed.',
  })
  failure!: TransferFailureDetailsType | null;

  @Field(() => String, { nullable: true, description: 'Why it was cancelled or failed; for the two parties only.' })
  endedReason!: string | null;

  @Field(() => Date, { nullable: true, description: 'When an outside party, now with an account, took the record up.' })
  takenUpAt!: Date | null;

  @Field(() => Int, { description: 'Moves on with every step; send it as `expectedVersion` to act on what you read.' })
  version!: number;

  @Field(() => [TransferItemType], { description: 'At most 100.' })
  items!: TransferItemType[];

  @Field(() => [TransferEggsType], { description: 'By clutch; at most 200 eggs.' })
  eggs!: TransferEggsType[];

  @Field(() => TransferViewerCanType)
  viewerCan!: TransferViewerCanType;
}

export const TransferConnection = Connection(TransferType, 'Transfer');

/** GraphQL form of a transfer, for one of its parties. */
export function toTransferType(viewer: Viewer, { transfer, fromLabel, toLabel }: VisibleTransfer): TransferType {
  const { receiver } = transfer;
  const keeperId = receiver.kind === 'keeper' ? receiver.keeperId : null;
  // Whoever took a record up with a code told the giver a name, not which keeper of the registry they are.
  const taken = transfer.takenUpAt !== null && !actsFor(viewer, keeperId);
  return {
    id: transfer.id,
    state: TransferStateType[transfer.state],
    kind: TransferKindType[transfer.kind],
    from: { kind: PartyKindType.keeper, keeperId: transfer.fromKeeperId, label: fromLabel },
    to: taken
      ? { kind: PartyKindType.outside_party, keeperId: null, label: TAKEN_UP_LABEL }
      : { kind: PartyKindType[receiver.kind], keeperId, label: toLabel },
    message: transfer.message,
    price: maySeePrice(viewer, transfer) ? transfer.price : null,
    title: TransferTitleType[transfer.title],
    dueBack: transfer.dueBack,
    loanTerms: toLoanTermsType(transfer.loanTerms, maySeePrice(viewer, transfer)),
    paymentPlan: maySeePrice(viewer, transfer) ? toPaymentPlan(transfer) : null,
    offeredAt: transfer.offeredAt,
    sentOn: 'sentOn' in transfer ? transfer.sentOn : null,
    receivedOn: 'receivedOn' in transfer ? transfer.receivedOn : null,
    answerBy: transfer.answerBy,
    transitRisk: transfer.transitRisk === null ? null : TransitRiskType[transfer.transitRisk],
    conditions: transfer.conditions.map(toConditionType),
    countersignatures: countersignaturesShown(viewer, transfer),
    way: transfer.way === null ? null : HandOverWayType[transfer.way],
    carrier: transfer.carrier,
    tracking: transfer.tracking,
    cancelledBy: transfer.state === 'cancelled' ? TransferSideType[transfer.cancelledBy] : null,
    failure: 'failure' in transfer && transfer.failure !== null ? toFailureType(transfer.failure) : null,
    endedReason: transfer.endedReason,
    takenUpAt: transfer.takenUpAt,
    version: transfer.version,
    items: transfer.items.map(toItemType),
    eggs: toEggsTypes(transfer.eggs),
    viewerCan: viewerCan(viewer, transfer),
  };
}

/** A side that needs one is a minor's: an offer alone does not tell the other side, nor one that was not accepted. */
function countersignaturesShown(viewer: Viewer, transfer: Transfer): TransferCountersignatureType[] {
  const accepted = 'acceptedAt' in transfer && transfer.acceptedAt !== null;
  const own = sidesOf(viewer, transfer);
  return transfer.countersigning
    .filter(({ side }) => accepted || own.includes(side))
    .map(({ side, signed }) => ({ side: TransferSideType[side], signed }));
}

function toConditionType({ documentKind, kind, settledAs, ...rest }: TransferCondition): TransferConditionType {
  return {
    ...rest,
    kind: ConditionKindType[kind],
    documentKind: documentKind === null ? null : HoldingDocumentKindType[documentKind],
    settledAs: settledAs === null ? null : ConditionSettlementType[settledAs],
  };
}

function toFailureType({ kind, declaredBy, declaredAt }: Failure): TransferFailureDetailsType {
  return { kind: TransferFailureType[kind], declaredBy: TransferSideType[declaredBy], declaredAt };
}

function toItemType({ arrivals, photoFileIds, ...item }: TransferItem): TransferItemType {
  return {
    ...item,
    photoFileIds: [...photoFileIds],
    arrivals: arrivals.map((arrival) => ({ state: ArrivalStateType[arrival.state], count: arrival.count })),
  };
}
