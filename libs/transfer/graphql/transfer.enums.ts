import { registerEnumType } from '@nestjs/graphql';

export enum TransferStateType {
  offered = 'offered',
  accepted = 'accepted',
  sent = 'sent',
  received = 'received',
  declined = 'declined',
  withdrawn = 'withdrawn',
  expired = 'expired',
  cancelled = 'cancelled',
  failed = 'failed',
}
registerEnumType(TransferStateType, {
  name: 'TransferState',
  description:
    'offered → accepted → sent → received. An offer ends as declined, withdrawn or expired, an accepted one as cancelled, a sent one as failed.',
});

export enum TransferKindType {
  gift = 'gift',
  sale = 'sale',
  exchange = 'exchange',
  breeding_loan = 'breeding_loan',
  loan_return = 'loan_return',
}
registerEnumType(TransferKindType, {
  name: 'TransferKind',
  description:
    'breeding_loan: they come back. loan_return: a keeper who does not own them brings them to an owner. Both leave the owner as it is.',
});

export enum TransferTitleType {
  on_receipt = 'on_receipt',
  when_paid = 'when_paid',
  stays = 'stays',
}
registerEnumType(TransferTitleType, {
  name: 'TransferTitle',
  description:
    'When property follows custody: with it; on the day confirmed payments reach the price; or not at all, for loans and returns.',
});

export enum PaymentStateType {
  declared = 'declared',
  confirmed = 'confirmed',
  questioned = 'questioned',
}
registerEnumType(PaymentStateType, {
  name: 'PaymentState',
  description: 'questioned: the giver says that it has not arrived; it does not count, and can still be confirmed.',
});

export enum ArrivalStateType {
  well = 'well',
  ill = 'ill',
  dead = 'dead',
  missing = 'missing',
  not_as_described = 'not_as_described',
  refused = 'refused',
}
registerEnumType(ArrivalStateType, {
  name: 'ArrivalState',
  description:
    'In what state animals arrived. well, ill, not_as_described: the receiver has them. dead: recorded as dead with the receiver on the day. missing, refused: they stay with the giver.',
});

export enum PartyKindType {
  keeper = 'keeper',
  outside_party = 'outside_party',
}
registerEnumType(PartyKindType, { name: 'PartyKind' });

export enum TransferSideType {
  giver = 'giver',
  receiver = 'receiver',
}
registerEnumType(TransferSideType, { name: 'TransferSide' });

export enum TransferFailureType {
  came_back = 'came_back',
  never_arrived = 'never_arrived',
}
registerEnumType(TransferFailureType, { name: 'TransferFailureKind' });

export enum TransitRiskType {
  giver = 'giver',
  receiver = 'receiver',
  carrier = 'carrier',
}
registerEnumType(TransitRiskType, {
  name: 'TransitRisk',
  description: 'Who bears the loss of what is lost or dies on the way, as the two parties agreed.',
});

export enum HandOverWayType {
  in_person = 'in_person',
  shipment = 'shipment',
}
registerEnumType(HandOverWayType, { name: 'HandOverWay' });

export enum ConditionKindType {
  after_quarantine = 'after_quarantine',
  document = 'document',
  other = 'other',
}
registerEnumType(ConditionKindType, {
  name: 'TransferConditionKind',
  description:
    'after_quarantine: no animal is in quarantine. document: one of a kind is recorded for each. other: the receiver says when.',
});

export enum ConditionSettlementType {
  met = 'met',
  waived = 'waived',
}
registerEnumType(ConditionSettlementType, { name: 'ConditionSettlement' });

export enum SendCheckType {
  document = 'document',
  quarantine = 'quarantine',
  minimum = 'minimum',
  condition = 'condition',
  loan = 'loan',
  report = 'report',
  title = 'title',
  countersignature = 'countersignature',
  eggs = 'eggs',
}
registerEnumType(SendCheckType, {
  name: 'SendCheck',
  description:
    'What is looked at before animals are sent. loan: borrowed, or lent to somebody else. report: recorded or reported as missing or stolen. title: owners disagree. countersignature: a side is awaited. eggs: they go along, and neither documents nor the least age and weight are looked at for them.',
});

export enum CheckEffectType {
  warn = 'warn',
  block = 'block',
}
registerEnumType(CheckEffectType, { name: 'CheckEffect' });
