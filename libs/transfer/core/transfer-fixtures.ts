import { day } from '../../kernel/index.js';
import { type AnimalAtHand, type OfferedTransfer, type SentTransfer, type TransferItem } from './transfer.core.js';

/** Ids of the specs: a giver, a receiver, and an animal each for what can happen to one. */
export const GIVER = 'giver';
export const RECEIVER = 'receiver';

/** An animal alive with the giver, its owner, unless told otherwise. */
export function animal(id: string, changes: Partial<AnimalAtHand> = {}): AnimalAtHand {
  return {
    id,
    kind: 'individual',
    fate: 'alive',
    count: 1,
    holderKeeperId: GIVER,
    knownToGiver: true,
    heldSince: day('2026-01-01'),
    ownership: 'owner',
    owners: [{ keeperId: GIVER, parts: 1 }],
    openTransferId: null,
    undivided: false,
    ...changes,
  };
}

/** Facts by id, as decisions take them. */
export function facts(...animals: AnimalAtHand[]): ReadonlyMap<string, AnimalAtHand> {
  return new Map(animals.map((one) => [one.id, one]));
}

/** An item of a transfer; its id is that of the animal with "item-" in front. */
export function item(animalId: string, count = 1): TransferItem {
  return {
    id: `item-${animalId}`,
    animalId,
    count,
    arrivals: [],
    receivedOn: null,
    notSent: false,
    gravid: false,
    share: null,
    titleDue: false,
    note: null,
    photoFileIds: [],
  };
}

/** A gift of the items from GIVER to RECEIVER, offered. */
export function offered(...items: TransferItem[]): OfferedTransfer {
  return {
    id: 'transfer-1',
    state: 'offered',
    kind: 'gift',
    fromKeeperId: GIVER,
    receiver: { kind: 'keeper', keeperId: RECEIVER },
    message: null,
    price: null,
    offeredAt: new Date('2026-06-01T09:00:00Z'),
    takenUpAt: null,
    countersigning: [],
    answerBy: null,
    conditions: [],
    eggs: [],
    way: null,
    transitRisk: null,
    carrier: null,
    tracking: null,
    endedReason: null,
    title: 'on_receipt',
    dueBack: null,
    loanTerms: null,
    instalments: [],
    payments: [],
    paidUpOn: null,
    items,
    version: 1,
  };
}

/** The same, sent on 2026-06-05. */
export function sent(...items: TransferItem[]): SentTransfer {
  return {
    ...offered(...items),
    state: 'sent',
    acceptedAt: new Date('2026-06-02T09:00:00Z'),
    sentOn: day('2026-06-05'),
    failure: null,
  };
}
