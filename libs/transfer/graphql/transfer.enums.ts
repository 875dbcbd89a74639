import { registerEnumType } from '@nestjs/graphql';

export enum TransferStateType {
  offered = 'offered',
  accepted = 'accepted',
  sent = 'sent',
  received = 'received',
  declined = 'declined',
  withdrawn = 'withdrawn',
}
registerEnumType(TransferStateType, {
  name: 'TransferState',
  description: 'offered → accepted → sent → received; or declined, withdrawn.',
});

export enum TransferKindType {
  gift = 'gift',
  sale = 'sale',
  exchange = 'exchange',
}
registerEnumType(TransferKindType, { name: 'TransferKind' });

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
