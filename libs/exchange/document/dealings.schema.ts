import { z } from 'zod';
import { animalNumber, day, eggEvent, moment, when } from './parts.schema.js';

const side = z.enum(['giver', 'receiver']);
/** Money in minor units. */
const minor = z.string().regex(/^\d+$/);

/** One line of the stock book. */
const bookLine = z.strictObject({
  day,
  registerNumber: z.string(),
  count: z.int(),
  estimated: z.boolean(),
  cause: z.string(),
  counterparty: z.string().nullable(),
});

/** What the keeper had to do with others. */
export const dealings = {
  transfers: z.array(
    z.strictObject({
      id: z.uuid(),
      side,
      other: z.string(),
      state: z.string(),
      kind: z.string(),
      message: z.string().nullable(),
      price: z.strictObject({ minor, currency: z.string() }).nullable(),
      offeredAt: moment,
      acceptedAt: moment.nullable(),
      sentOn: day.nullable(),
      receivedOn: day.nullable(),
      closedAt: moment.nullable(),
      takenUpAt: moment.nullable(),
      /** Last day on which the offer could be accepted. */
      answerBy: day.nullable(),
      way: z.string().nullable(),
      transitRisk: z.string().nullable(),
      carrier: z.string().nullable(),
      tracking: z.string().nullable(),
      /** Why it was cancelled or failed, and who said so. */
      endedReason: z.string().nullable(),
      cancelledBy: side.nullable(),
      failure: z.string().nullable(),
      failureDeclaredBy: side.nullable(),
      failureDeclaredAt: moment.nullable(),
      /** When property passes, and what was paid where it waits for payment. */
      title: z.string(),
      dueBack: day.nullable(),
      /** What was agreed about a loan, and each ask for another last day of it, with the recalls. */
      loanTerms: z
        .strictObject({
          recallDays: z.int().nullable(),
          keepCosts: z.string().nullable(),
          vetCosts: z.string().nullable(),
          onDeath: z.string().nullable(),
          value: z.strictObject({ minor, currency: z.string() }).nullable(),
          youngSplit: z
            .strictObject({
              method: z.string(),
              lenderParts: z.int(),
              ofParts: z.int(),
              firstPick: z.string().nullable(),
              oddOne: z.string().nullable(),
            })
            .nullable(),
          youngBredBy: z.string().nullable(),
        })
        .nullable(),
      loanDays: z.array(
        z.strictObject({
          askedBy: z.enum(['lender', 'borrower']),
          askedAt: moment,
          dueBack: day,
          dueBackBefore: day,
          answeredAt: moment.nullable(),
          outcome: z.string().nullable(),
        }),
      ),
      /** Clutches whose young are divided by these terms, and who picked which. */
      loanClutches: z.array(
        z.strictObject({
          /** In the order in which they had young. */
          number: z.int(),
          recordedAt: moment,
          young: z.array(
            z.strictObject({
              animal: animalNumber,
              pickedBy: z.enum(['lender', 'borrower']).nullable(),
              pickNumber: z.int().nullable(),
              pickedAt: moment.nullable(),
            }),
          ),
        }),
      ),
      paidUpOn: day.nullable(),
      instalments: z.array(z.strictObject({ dueOn: day, minor })),
      payments: z.array(
        z.strictObject({
          minor,
          paidOn: day,
          state: z.string(),
          note: z.string().nullable(),
          answerNote: z.string().nullable(),
          declaredAt: moment,
          answeredAt: moment.nullable(),
        }),
      ),
      conditions: z.array(
        z.strictObject({
          kind: z.string(),
          documentKind: z.string().nullable(),
          text: z.string().nullable(),
          settledAs: z.string().nullable(),
          settledAt: moment.nullable(),
        }),
      ),
      countersignatures: z.array(z.strictObject({ side, signedAt: moment, voidedAt: moment.nullable() })),
      /** Codes of a hand-over in person; the codes themselves are not kept. */
      handOverCodes: z.array(
        z.strictObject({
          openedFor: side,
          openedAt: moment,
          expiresAt: moment,
          closedAt: moment.nullable(),
          usedAt: moment.nullable(),
        }),
      ),
      /** What of the giver's breeding records the receiver was shown with it, for as long as it was. */
      breedingShown: z.array(
        z.strictObject({
          of: z.enum(['clutch', 'dam']),
          /** Of a dam. */
          animal: animalNumber,
          laid: when,
          shownAt: moment,
          endedAt: moment.nullable(),
        }),
      ),
      eggs: z.array(
        z.strictObject({
          number: z.int(),
          /** When their clutch was laid. */
          laid: when,

          notSent: z.boolean(),
          arrival: z.string().nullable(),
          receivedOn: day.nullable(),
        }),
      ),
      items: z.array(
        z.strictObject({
          /** Null where the animal is no longer this keeper's to see. */
          registerNumber: z.string().nullable(),
          count: z.int(),
          receivedOn: day.nullable(),
          notSent: z.boolean(),
          gravid: z.boolean(),
          /** Parts of all that are handed over, where it is a share. */
          share: z.strictObject({ parts: z.int(), of: z.int() }).nullable(),
          /** What the receiver said of its arrival. */
          note: z.string().nullable(),
          /** Pictures of its arrival; the bytes of own ones are among the files of the animal. */
          photos: z.array(z.strictObject({ own: z.boolean(), sha256: z.string() })),
          arrivals: z.array(z.strictObject({ state: z.string(), count: z.int() })),
        }),
      ),
    }),
  ),
  /** Printed records issued by somebody of this keeper. */
  papers: z.array(
    z.strictObject({ transferId: z.uuid(), checkCode: z.string(), issuedAt: moment, content: z.unknown() }),
  ),
  /** Threads in which the keeper asks or is asked. The other side has a name once both are shown. */
  threads: z.array(
    z.strictObject({
      side: z.enum(['asker', 'holder']),
      other: z.string().nullable(),
      animal: animalNumber,
      aboutAnimal: animalNumber,
      openedAt: moment,
      closedAt: moment.nullable(),
      messages: z.array(z.strictObject({ own: z.boolean(), text: z.string(), sentAt: moment })),
    }),
  ),
  /** Reports of theft the keeper made (`reporter`), and those it may answer. */
  theftReports: z.array(
    z.strictObject({
      side: z.enum(['reporter', 'respondent']),
      animal: animalNumber,
      policeInformed: z.boolean(),
      policeReference: z.string().nullable(),
      statement: z.string().nullable(),
      reportedAt: moment,
      reply: z.string().nullable(),
      repliedAt: moment.nullable(),
      closedAt: moment.nullable(),
    }),
  ),
  /** Claims of ownership this keeper made (`claimant`) or answers (`party`). */
  ownershipClaims: z.array(
    z.strictObject({
      side: z.enum(['claimant', 'party']),
      animal: animalNumber,
      statement: z.string(),
      share: z.strictObject({ parts: z.int(), of: z.int() }),
      since: day,
      madeAt: moment,
      endedAt: moment.nullable(),
      outcome: z.string().nullable(),
      /** Counts the proposals; 0 = none. */
      proposal: z.int(),
      proposedAt: moment.nullable(),
      awaitsClaimantSince: moment.nullable(),
      parties: z.array(
        z.strictObject({
          own: z.boolean(),
          reply: z.string().nullable(),
          repliedAt: moment.nullable(),
          /** Parts by the record when the claim was made, and by the last proposal. */
          recordedParts: z.int(),
          proposedParts: z.int().nullable(),
          /** The proposal it agreed to. */
          agreedTo: z.int().nullable(),
        }),
      ),
    }),
  ),
  /** Eggs this keeper received: from when until when it had each. Half-open days. */
  eggsHeld: z.array(
    z.strictObject({
      transferId: z.uuid(),
      number: z.int(),
      laid: when,
      from: day,
      to: day.nullable(),
      /** What this keeper recorded of it. */
      events: z.array(z.strictObject(eggEvent)),
    }),
  ),
  /** Parties without an account whom this keeper recorded. */
  outsideParties: z.array(z.strictObject({ name: z.string(), contact: z.string().nullable(), createdAt: moment })),
  stockBook: z.strictObject({
    asOf: day,
    arrivals: z.array(bookLine),
    departures: z.array(bookLine),
    closing: z.int(),
    unaccounted: z.int(),
  }),
};
