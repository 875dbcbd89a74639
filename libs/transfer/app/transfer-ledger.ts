import { z } from 'zod';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { loanTermsEntry } from '../loans/loan-terms-input.js';
import { SEND_CHECKS } from '../checks/send-checks.core.js';
import {
  ARRIVAL_STATES,
  FAILURES,
  TITLES,
  type Transfer,
  TRANSFER_KINDS,
  TRANSIT_RISKS,
  WAYS,
} from '../core/transfer.core.js';

/** Ledger entries of transfers. `attestedByGiver`: the giver recorded the step for an outside party without an account. */

const egg = z.strictObject({ eggId: z.uuid(), clutchId: z.uuid(), number: z.int().positive() });

const step = z.strictObject({ transferId: z.uuid(), attestedByGiver: z.boolean() });

export const transferOffered = defineLedgerAction(
  'transfer.offered',
  2,
  z.strictObject({
    transferId: z.uuid(),
    kind: z.enum(TRANSFER_KINDS),
    fromKeeperId: z.uuid(),
    toKeeperId: z.uuid().nullable(),
    toOutsidePartyId: z.uuid().nullable(),
    items: z.array(
      z.strictObject({
        animalId: z.uuid(),
        count: z.int().positive(),
        splitFrom: z.uuid().nullable(),
        share: z.strictObject({ parts: z.int(), of: z.int() }).optional(),
      }),
    ),
    /** The day from which the parts are records of their own; absent where no lot was split. */
    splitOn: z.iso.date().optional(),
    title: z.enum(TITLES).optional(),
    dueBack: z.iso.date().optional(),
    /** Absent where nothing was agreed; the value is personal text. */
    loanTerms: loanTermsEntry.optional(),
    eggs: z.array(egg).optional(),
    answerBy: z.iso.date().optional(),
    transitRisk: z.enum(TRANSIT_RISKS).optional(),
    conditionIds: z.array(z.uuid()).optional(),
  }),
);

export const transferAccepted = defineLedgerAction('transfer.accepted', 1, step);
/** A guardian agreed for these sides. */
export const transferCountersigned = defineLedgerAction(
  'transfer.countersigned',
  1,
  z.strictObject({ transferId: z.uuid(), sides: z.array(z.enum(['giver', 'receiver'])).min(1) }),
);
/** A guardian took back what it had agreed to for these sides. */
export const countersignatureWithdrawn = defineLedgerAction(
  'transfer.countersignature-withdrawn',
  1,
  z.strictObject({ transferId: z.uuid(), sides: z.array(z.enum(['giver', 'receiver'])).min(1) }),
);
export const transferDeclined = defineLedgerAction('transfer.declined', 1, step);
export const transferWithdrawn = defineLedgerAction('transfer.withdrawn', 1, step);
export const transferCancelled = defineLedgerAction(
  'transfer.cancelled',
  1,
  z.strictObject({ transferId: z.uuid(), by: z.enum(['giver', 'receiver']) }),
);

/** Written by the job, without anybody's act. */
export const transferExpired = defineLedgerAction(
  'transfer.expired',
  1,
  z.strictObject({ transferId: z.uuid(), answerBy: z.iso.date() }),
);

/** `confirmed`: both sides have said so, and the transfer has failed; otherwise it is one side's word. */
export const transferFailed = defineLedgerAction(
  'transfer.failed',
  1,
  z.strictObject({
    transferId: z.uuid(),
    by: z.enum(['giver', 'receiver']),
    kind: z.enum(FAILURES),
    confirmed: z.boolean(),
    attestedByGiver: z.boolean(),
  }),
);

export const itemsLeftOut = defineLedgerAction(
  'transfer.items-left-out',
  1,
  z.strictObject({
    transferId: z.uuid(),
    animalIds: z.array(z.uuid()),
    eggs: z.array(egg).optional(),
    closed: z.boolean(),
  }),
);

export const transferSent = defineLedgerAction(
  'transfer.sent',
  1,
  z.strictObject({
    transferId: z.uuid(),
    sentOn: z.iso.date(),
    way: z.enum(WAYS).optional(),
    /** Checks that warned; the reason, where one was given, is personal text. */
    warnings: z.array(z.strictObject({ check: z.enum(SEND_CHECKS), subjectId: z.uuid() })).optional(),
  }),
);

export const transferReceived = defineLedgerAction(
  'transfer.received',
  1,
  z.strictObject({
    ...step.shape,
    receivedOn: z.iso.date(),
    items: z.array(
      z.strictObject({
        animalId: z.uuid(),
        arrivals: z.array(z.strictObject({ state: z.enum(ARRIVAL_STATES), count: z.int().positive() })),
        /** Records that stayed with the giver: the refused or missing part of a lot. */
        splitBack: z.array(z.strictObject({ animalId: z.uuid(), count: z.int().positive(), missing: z.boolean() })),
      }),
    ),
    eggs: z.array(egg.extend({ arrival: z.enum(ARRIVAL_STATES).nullable() })).optional(),
    /** The group that keeps what arrived alive apart; null when nothing did, or the receiver keeps no book here. */
    quarantineGroupId: z.uuid().nullable(),
  }),
);

export const arrivalPhotosAdded = defineLedgerAction(
  'transfer.arrival-photos-added',
  1,
  z.strictObject({ transferId: z.uuid(), animalId: z.uuid(), fileIds: z.array(z.uuid()).min(1) }),
);

export const conditionSettled = defineLedgerAction(
  'transfer.condition-settled',
  1,
  z.strictObject({
    transferId: z.uuid(),
    conditionId: z.uuid(),
    settledAs: z.enum(['met', 'waived']),
    attestedByGiver: z.boolean(),
  }),
);

export const transferTakenUp = defineLedgerAction(
  'transfer.taken-up',
  1,
  z.strictObject({
    transferId: z.uuid(),
    outsidePartyId: z.uuid(),
    keeperId: z.uuid(),
    quarantineGroupId: z.uuid().nullable(),
  }),
);

const handOver = z.strictObject({ transferId: z.uuid(), handOverId: z.uuid() });

/** The giver shows a code; the receiver enters it, wrong or right. Accepting, sending and receiving have entries of their own. */
export const handOverOpened = defineLedgerAction('transfer.hand-over-opened', 1, handOver);
export const handOverTried = defineLedgerAction('transfer.hand-over-code-wrong', 1, handOver);
export const handOverConfirmed = defineLedgerAction('transfer.hand-over-confirmed', 1, handOver);

export const paperIssued = defineLedgerAction(
  'transfer.paper-issued',
  1,
  z.strictObject({ transferId: z.uuid(), paperId: z.uuid(), contentHash: z.string().regex(/^[0-9a-f]{64}$/) }),
);

/** What an entry about a transfer concerns: the transfer, its animals, and the clutches of its eggs. */
export function subjectsOf(transfer: Pick<Transfer, 'id' | 'items' | 'eggs'>): string[] {
  return [transfer.id, ...animalIdsOf(transfer), ...new Set(transfer.eggs.map(({ clutchId }) => clutchId))];
}

/** Ids of the animals of a transfer. */
export function animalIdsOf(transfer: Pick<Transfer, 'items'>): string[] {
  return transfer.items.map((item) => item.animalId);
}
