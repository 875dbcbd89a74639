import { type Day } from '../../kernel/index.js';

/** Gift: nothing in return. Sale: for a price. Exchange: for other animals, with or without a payment on top. */
export type TransferKind = 'gift' | 'sale' | 'exchange';

/** In what state animals arrived; the receiver says it of every animal, or counts each state of a lot. */
export const ARRIVAL_STATES = ['well', 'ill', 'dead', 'missing', 'not_as_described', 'refused'] as const;
export type ArrivalState = (typeof ARRIVAL_STATES)[number];

/** How many animals of an item arrived in one state. */
export type Arrival = { readonly state: ArrivalState; readonly count: number };

/** One animal or one whole lot of a transfer. `count` is what was offered; `arrivals` is empty until received. */
export type TransferItem = {
  readonly id: string;
  readonly animalId: string;
  readonly count: number;
  readonly arrivals: readonly Arrival[];
};

/** To whom the animals go. An outside party has no account; once it has one and takes the animals up, it is a keeper here. */
export type Receiver =
  | { readonly kind: 'keeper'; readonly keeperId: string }
  | { readonly kind: 'outside_party'; readonly outsidePartyId: string };

/** A price in the currency's minor units (cents) and its ISO 4217 code. */
export type Price = { readonly minor: number; readonly currency: string };

/** What was agreed, the same in every state. Message and price are for the two parties only. */
export type TransferTerms = {
  readonly id: string;
  readonly kind: TransferKind;
  readonly fromKeeperId: string;
  readonly receiver: Receiver;
  readonly message: string | null;
  readonly price: Price | null;
  readonly offeredAt: Date;
  /** When an outside party, now with an account, took the animals up. */
  readonly takenUpAt: Date | null;
  readonly items: readonly TransferItem[];
  readonly version: number;
};

export type OfferedTransfer = TransferTerms & { readonly state: 'offered' };
export type AcceptedTransfer = TransferTerms & { readonly state: 'accepted'; readonly acceptedAt: Date };
export type SentTransfer = TransferTerms & { readonly state: 'sent'; readonly acceptedAt: Date; readonly sentOn: Day };
export type ReceivedTransfer = TransferTerms & {
  readonly state: 'received';
  readonly acceptedAt: Date;
  readonly sentOn: Day;
  readonly receivedOn: Day;
  readonly closedAt: Date;
};
export type DeclinedTransfer = TransferTerms & {
  readonly state: 'declined';
  readonly acceptedAt: Date | null;
  readonly closedAt: Date;
};
export type WithdrawnTransfer = TransferTerms & {
  readonly state: 'withdrawn';
  readonly acceptedAt: Date | null;
  readonly closedAt: Date;
};

/** A transfer in one of its states; each state has exactly the days it can have. */
export type Transfer =
  OfferedTransfer | AcceptedTransfer | SentTransfer | ReceivedTransfer | DeclinedTransfer | WithdrawnTransfer;

export type TransferState = Transfer['state'];

/** What a decision has to know of an animal or lot, read under lock. `holderKeeperId` is null when no keeper holds it. */
export type AnimalAtHand = {
  readonly id: string;
  readonly kind: 'individual' | 'lot';
  readonly fate: string;
  readonly count: number;
  readonly holderKeeperId: string | null;
  /** Whether the giver has or owns it, or had it last: only then may the giver learn why it cannot be offered. */
  readonly knownToGiver: boolean;
  /** First day of the present holder. */
  readonly heldSince: Day | null;
  /** Whether the holder is among the owners, and the owners agree. */
  readonly ownership: 'owner' | 'not_owner' | 'disputed';
  /** Another open transfer of this animal. */
  readonly openTransferId: string | null;
};
