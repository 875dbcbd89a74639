import { type Day } from '../../kernel/index.js';
import { type LoanTerms } from '../loans/loan-terms.core.js';

/**
 * Gift: nothing in return. Sale: for a price. Exchange: for other animals, with or without a payment on top. Breeding loan:
 * they come back. Loan return: whoever keeps them without owning them brings them to an owner.
 */
export const TRANSFER_KINDS = ['gift', 'sale', 'exchange', 'breeding_loan', 'loan_return'] as const;
export type TransferKind = (typeof TRANSFER_KINDS)[number];

/** When property follows custody: with it, once the price is paid, or not at all. */
export const TITLES = ['on_receipt', 'when_paid', 'stays'] as const;
export type Title = (typeof TITLES)[number];

/** A part of one whole animal: 1 of 2 is a half. */
export type Share = { readonly parts: number; readonly of: number };

/** A part of a price, in its minor units, and the day it falls due. */
export type Instalment = { readonly dueOn: Day; readonly minor: number };

/**
 * What the receiver says it paid, in minor units of the price's currency. `questioned`: the giver says that it has not
 * arrived, and it does not count; the giver may still confirm it. `note` is of the receiver, `answerNote` of the giver.
 */
export type Payment = {
  readonly id: string;
  readonly minor: number;
  readonly paidOn: Day;
  readonly state: 'declared' | 'confirmed' | 'questioned';
  readonly note: string | null;
  readonly answerNote: string | null;
};

/** In what state animals arrived; the receiver says it of every animal, or counts each state of a lot. */
export const ARRIVAL_STATES = ['well', 'ill', 'dead', 'missing', 'not_as_described', 'refused'] as const;
export type ArrivalState = (typeof ARRIVAL_STATES)[number];

/** How many animals of an item arrived in one state. */
export type Arrival = { readonly state: ArrivalState; readonly count: number };

/**
 * One animal or one whole lot of a transfer. `count` is what was offered; `arrivals` is empty until it is received, and
 * stays so for one that the giver left out of what was sent. `note` and `photoFileIds` are of the receiver, about the arrival.
 */
export type TransferItem = {
  readonly id: string;
  readonly animalId: string;
  readonly count: number;
  readonly arrivals: readonly Arrival[];
  readonly receivedOn: Day | null;
  readonly notSent: boolean;
  /** The giver says that the female may carry eggs or young. */
  readonly gravid: boolean;
  /** The part of the whole animal that moves; null = all the giver owns. */
  readonly share: Share | null;
  /** It has arrived, and the giver's property waits to be paid for. */
  readonly titleDue: boolean;
  readonly note: string | null;
  readonly photoFileIds: readonly string[];
};

/** An egg of a clutch, which is named by its first version. Eggs are no animals and stand beside the items. */
export type TransferEgg = {
  readonly eggId: string;
  readonly clutchId: string;
  readonly number: number;
  readonly arrival: ArrivalState | null;
  readonly receivedOn: Day | null;
  readonly notSent: boolean;
};

/** One of the two parties. */
export type Side = 'giver' | 'receiver';

/** How a transfer that was sent came to nothing: the animals came back, or never arrived. */
export const FAILURES = ['came_back', 'never_arrived'] as const;
/** What one side said of a failure. It stands once the other side says the same. */
export type Failure = {
  readonly kind: (typeof FAILURES)[number];
  readonly declaredBy: Side;
  readonly declaredAt: Date;
};

/** How the animals change hands. */
export const WAYS = ['in_person', 'shipment'] as const;
/** Who bears the loss of what is lost or dies on the way, as the two agreed. */
export const TRANSIT_RISKS = ['giver', 'receiver', 'carrier'] as const;

/** Kinds of documents a condition can name; those of the document context. */
export const DOCUMENT_KINDS = ['licence', 'permit', 'certificate', 'invoice', 'veterinary', 'other'] as const;

/** What has to come to pass before the animals are sent. `documentKind` of a document, `text` of anything else. */
export type TransferCondition = {
  readonly id: string;
  readonly kind: 'after_quarantine' | 'document' | 'other';
  readonly documentKind: (typeof DOCUMENT_KINDS)[number] | null;
  readonly text: string | null;
  /** What the receiver said of it: it has come to pass, or it need not. */
  readonly settledAs: 'met' | 'waived' | null;
};

/** To whom the animals go. An outside party has no account; once it has one and takes the animals up, it is a keeper here. */
export type Receiver =
  | { readonly kind: 'keeper'; readonly keeperId: string }
  | { readonly kind: 'outside_party'; readonly outsidePartyId: string };

/** A price in the currency's minor units (cents) and its ISO 4217 code. */
export type Price = { readonly minor: number; readonly currency: string };

/** A side whose keeper is a minor's until a day (excluded), and whether its guardian has agreed. */
export type Countersigning = { readonly side: Side; readonly minorUntil: Day; readonly signed: boolean };

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
  /** Last day on which the offer can be accepted; null = no end. */
  readonly answerBy: Day | null;
  readonly conditions: readonly TransferCondition[];
  readonly way: (typeof WAYS)[number] | null;
  readonly transitRisk: (typeof TRANSIT_RISKS)[number] | null;
  /** Carrier and tracking are for the two parties only, and so is the reason. */
  readonly carrier: string | null;
  readonly tracking: string | null;
  /** Why it was cancelled or failed, in the words of whoever said so. */
  readonly endedReason: string | null;
  readonly title: Title;
  /** Of a loan: the last day on which the animals are due back. A deadline, not a change of owner. */
  readonly dueBack: Day | null;
  /** Of a loan, where anything was agreed. Never changed after the offer; the day above is, by `loans/`. */
  readonly loanTerms: LoanTerms | null;
  /** Empty = the whole price at any time. They and the payments are for the two parties only. */
  readonly instalments: readonly Instalment[];
  readonly payments: readonly Payment[];
  /** The day on which the confirmed payments reached the price, where property waits for it. */
  readonly paidUpOn: Day | null;
  /** None between keepers who always were adults'. */
  readonly countersigning: readonly Countersigning[];
  readonly items: readonly TransferItem[];
  readonly eggs: readonly TransferEgg[];
  readonly version: number;
};

export type OfferedTransfer = TransferTerms & { readonly state: 'offered' };
export type AcceptedTransfer = TransferTerms & { readonly state: 'accepted'; readonly acceptedAt: Date };
export type SentTransfer = TransferTerms & {
  readonly state: 'sent';
  readonly acceptedAt: Date;
  readonly sentOn: Day;
  /** What one side says and the other has not confirmed. */
  readonly failure: Failure | null;
};
/** `receivedOn` is the day of the last receipt. */
export type ReceivedTransfer = TransferTerms & {
  readonly state: 'received';
  readonly acceptedAt: Date;
  readonly sentOn: Day;
  readonly receivedOn: Day;
  readonly closedAt: Date;
};
/** Ended before anything was sent. Some that were recorded long ago were accepted first. */
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
/** Nobody answered by the day. */
export type ExpiredTransfer = TransferTerms & { readonly state: 'expired'; readonly closedAt: Date };
/** Called off by either side after it was accepted. */
export type CancelledTransfer = TransferTerms & {
  readonly state: 'cancelled';
  readonly acceptedAt: Date;
  readonly closedAt: Date;
  readonly cancelledBy: Side;
};
/** Sent, and nothing of it arrived to stay: everything is as it was before. */
export type FailedTransfer = TransferTerms & {
  readonly state: 'failed';
  readonly acceptedAt: Date;
  readonly sentOn: Day;
  readonly closedAt: Date;
  readonly failure: Failure;
};

/** A transfer in one of its states; each state has exactly the days it can have. */
export type Transfer =
  | OfferedTransfer
  | AcceptedTransfer
  | SentTransfer
  | ReceivedTransfer
  | DeclinedTransfer
  | WithdrawnTransfer
  | ExpiredTransfer
  | CancelledTransfer
  | FailedTransfer;

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
  /** Owners now, with their parts; `keeperId` is null for an outside party. */
  readonly owners: readonly { readonly keeperId: string | null; readonly parts: number }[];
  /** Another open transfer of this animal. */
  readonly openTransferId: string | null;
  /** One of the young of a loan that both sides own and neither has picked. */
  readonly undivided: boolean;
};
