import { Field, ID, Int, ObjectType } from '@nestjs/graphql';
import { actsFor, type Day, type Viewer } from '../../kernel/index.js';
import { Connection, DayType } from '../../platform/graphql/index.js';
import { viewerCan } from '../core/policy.core.js';
import { type TransferItem } from '../core/transfer.core.js';
import { TAKEN_UP_LABEL, type VisibleTransfer } from '../store/transfer.store.js';
import { ArrivalStateType, PartyKindType, TransferKindType, TransferStateType } from './transfer.enums.js';

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
}

@ObjectType('TransferViewerCan', { description: 'What the viewer may do, and can do now.' })
export class TransferViewerCanType {
  @Field(() => Boolean)
  accept!: boolean;

  @Field(() => Boolean)
  decline!: boolean;

  @Field(() => Boolean)
  send!: boolean;

  @Field(() => Boolean)
  receive!: boolean;

  @Field(() => Boolean)
  withdraw!: boolean;
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

  @Field(() => PriceType, { nullable: true })
  price!: PriceType | null;

  @Field(() => Date)
  offeredAt!: Date;

  @Field(() => DayType, { nullable: true })
  sentOn!: Day | null;

  @Field(() => DayType, { nullable: true })
  receivedOn!: Day | null;

  @Field(() => Date, { nullable: true, description: 'When an outside party, now with an account, took the record up.' })
  takenUpAt!: Date | null;

  @Field(() => Int, { description: 'Moves on with every step; send it as `expectedVersion` to act on what you read.' })
  version!: number;

  @Field(() => [TransferItemType], { description: 'At most 100.' })
  items!: TransferItemType[];

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
    price: transfer.price,
    offeredAt: transfer.offeredAt,
    sentOn: 'sentOn' in transfer ? transfer.sentOn : null,
    receivedOn: 'receivedOn' in transfer ? transfer.receivedOn : null,
    takenUpAt: transfer.takenUpAt,
    version: transfer.version,
    items: transfer.items.map(toItemType),
    viewerCan: viewerCan(viewer, transfer),
  };
}

function toItemType({ id, animalId, count, arrivals }: TransferItem): TransferItemType {
  return {
    id,
    animalId,
    count,
    arrivals: arrivals.map((arrival) => ({ state: ArrivalStateType[arrival.state], count: arrival.count })),
  };
}
