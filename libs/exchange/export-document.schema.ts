import { z } from 'zod';

const day = z.string().regex(/^\d{4}-\d{2}-\d{2}$/);
const moment = z.iso.datetime();
const when = z.strictObject({ edtf: z.string(), earliest: day.nullable(), latest: day.nullable() }).nullable();

/** One line of the stock book. */
const bookLine = z.strictObject({
  day,
  registerNumber: z.string(),
  count: z.int(),
  estimated: z.boolean(),
  cause: z.string(),
  counterparty: z.string().nullable(),
});

/** An animal or lot the keeper has, owns, or once had; of what has gone on, the record as it was when it left. */
const animal = z.strictObject({
  registerNumber: z.string(),
  kind: z.enum(['individual', 'lot']),
  /** `past`: nothing recorded after `readsUntil` is here. */
  level: z.enum(['full', 'past']),
  readsUntil: moment.nullable(),
  scientificName: z.string(),
  line: z.string().nullable(),
  name: z.string().nullable(),
  sex: z.string(),
  birth: when,
  originClass: z.string(),
  fate: z.string(),
  fateEdtf: z.string().nullable(),
  count: z.int(),
  countEstimated: z.boolean(),
  lastSeenOn: day.nullable(),
  facts: z.array(
    z.strictObject({
      kind: z.string(),
      /** As in the registry; each kind has its own form. */
      body: z.record(z.string(), z.unknown()),
      when,
      recordedAt: moment,
      supersededAt: moment.nullable(),
      /** Whether it was recorded on behalf of this keeper. */
      own: z.boolean(),
    }),
  ),
  marks: z.array(
    z.strictObject({
      kind: z.string(),
      value: z.string(),
      size: z.string().nullable(),
      edtf: z.string().nullable(),
      until: z.string().nullable(),
      endCause: z.string().nullable(),
      fixedView: z.string().nullable(),
      withScale: z.boolean().nullable(),
      intervalDays: z.int().nullable(),
      recordedAt: moment,
      photoSessions: z.array(z.strictObject({ takenOn: day, verdicts: z.array(z.string()) })),
    }),
  ),
  /** A parent the keeper may not see has no register number. */
  parentage: z.array(
    z.strictObject({
      role: z.enum(['sire', 'dam']),
      basis: z.string(),
      /** True: it developed without a sire. */
      withoutSire: z.boolean(),
      edtf: z.string().nullable(),
      evidence: z.string().nullable(),
      recordedAt: moment,
      candidates: z.array(z.strictObject({ registerNumber: z.string().nullable(), probability: z.number() })),
    }),
  ),
  /** Null for what has gone on to others. */
  declaredFounder: z.boolean().nullable(),
  /** Every merge with another record of the same animal; the other one has no register number where the keeper may not see it. */
  merges: z.array(
    z.strictObject({
      as: z.enum(['kept', 'merged']),
      other: z.string().nullable(),
      because: z.string(),
      recordedAt: moment,
      undoneAt: moment.nullable(),
      undoneBecause: z.string().nullable(),
    }),
  ),
  /** The periods in which this keeper had it. Half-open days. */
  custody: z.array(
    z.strictObject({
      from: day,
      to: day.nullable(),
      arrivedBy: z.string(),
      leftBy: z.string().nullable(),
      cameFrom: z.string().nullable(),
      wentTo: z.string().nullable(),
    }),
  ),
  /** The periods in which this keeper owned a share: own parts of all. */
  ownership: z.array(z.strictObject({ from: day, to: day.nullable(), state: z.string(), parts: z.int(), of: z.int() })),
  /** Of a lot. The reason is here where somebody of this keeper gave it. */
  countChanges: z.array(
    z.strictObject({
      cause: z.string(),
      delta: z.int(),
      estimated: z.boolean(),
      on: day,
      recordedAt: moment,
      reason: z.string().nullable(),
    }),
  ),
});

/** Register number of an animal, or null where it is no longer the keeper's to see. */
const animalNumber = z.string().nullable();
const stays = z.array(z.strictObject({ animal: animalNumber, from: day, to: day.nullable() }));

/** What the keeper recorded beside the animals, as it stands today. */
const records = {
  documents: z.array(
    z.strictObject({
      kind: z.string(),
      number: z.string(),
      authority: z.string(),
      jurisdiction: z.string(),
      validFrom: day.nullable(),
      validUntil: day.nullable(),
      recordedAt: moment,
      /** With neither animal nor taxon: the whole collection. */
      covers: z.array(
        z.strictObject({ animal: animalNumber, scientificName: z.string().nullable(), quantity: z.int().nullable() }),
      ),
      /** The bytes are downloaded apart. */
      files: z.array(
        z.strictObject({ fileName: z.string(), mediaType: z.string(), size: z.int(), sha256: z.string() }),
      ),
    }),
  ),
  enclosures: z.array(
    z.strictObject({
      name: z.string(),
      setting: z.string(),
      room: z.string().nullable(),
      controlled: z.string(),
      controlledSince: day.nullable(),
      stays,
    }),
  ),
  matings: z.array(
    z.strictObject({
      dam: animalNumber,
      sire: animalNumber,
      basis: z.string(),
      controlled: z.string(),
      when,
      recordedAt: moment,
    }),
  ),
  pairings: z.array(
    z.strictObject({
      dam: animalNumber,
      sire: animalNumber,
      state: z.string(),
      from: day,
      until: day.nullable(),
      note: z.string().nullable(),
      recordedAt: moment,
    }),
  ),
  clutches: z.array(
    z.strictObject({
      kind: z.string(),
      dams: z.array(z.strictObject({ animal: animalNumber, probability: z.number() })),
      enclosure: z.string().nullable(),
      eggCount: z.int().nullable(),
      controlled: z.string(),
      laid: when,
      foundOn: day.nullable(),
      recordedAt: moment,
      eggEvents: z.array(
        z.strictObject({
          egg: z.int().nullable(),
          kind: z.string(),
          incubator: z.string().nullable(),
          celsius: z.number().nullable(),
          candling: z.string().nullable(),
          when,
        }),
      ),
      hatchings: z.array(z.strictObject({ animal: animalNumber, egg: z.int().nullable(), when })),
    }),
  ),
  quarantines: z.array(
    z.strictObject({
      name: z.string(),
      days: z.int(),
      daysSource: z.string(),
      restartScope: z.string(),
      releasedOn: day.nullable(),
      releaseReason: z.string().nullable(),
      stays,
    }),
  ),
  /** What the keeper says of animals it has, as mates for others. */
  breedingAvailability: z.array(
    z.strictObject({
      animal: animalNumber,
      open: z.boolean(),
      until: day.nullable(),
      offers: z.array(z.string()),
      setAt: moment,
    }),
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
  /** Of the account that exports. */
  offices: z.array(
    z.strictObject({
      club: z.string(),
      region: z.string().nullable(),
      scientificName: z.string().nullable(),
      from: day,
      to: day.nullable(),
    }),
  ),
  mails: z.array(z.strictObject({ subject: z.string(), text: z.string(), createdAt: moment })),
};

/**
 * What the registry holds of a keeper, as that keeper may read it. Version 1: a document with a changed form gets
 * another number. Of other people it has the names this keeper already sees, and nothing else. Dates are ISO 8601, days
 * and uncertain days EDTF (Library of Congress, 2019), money in minor units with its ISO 4217 code.
 */
export const exportDocument = z.strictObject({
  schemaVersion: z.literal(1),
  exportedAt: moment,
  account: z.strictObject({ email: z.string() }),
  keeper: z.strictObject({
    id: z.uuid(),
    name: z.string(),
    kind: z.string(),
    region: z.string().nullable(),
    holdingsShown: z.string(),
    lineageShared: z.boolean(),
  }),
  clubs: z.array(z.strictObject({ slug: z.string(), name: z.string() })),
  animals: z.array(animal),
  ...records,
  transfers: z.array(
    z.strictObject({
      id: z.uuid(),
      side: z.enum(['giver', 'receiver']),
      other: z.string(),
      state: z.string(),
      kind: z.string(),
      message: z.string().nullable(),
      price: z.strictObject({ minor: z.string().regex(/^\d+$/), currency: z.string() }).nullable(),
      offeredAt: moment,
      acceptedAt: moment.nullable(),
      sentOn: day.nullable(),
      receivedOn: day.nullable(),
      closedAt: moment.nullable(),
      takenUpAt: moment.nullable(),
      items: z.array(
        z.strictObject({
          /** Null where the animal is no longer this keeper's to see. */
          registerNumber: z.string().nullable(),
          count: z.int(),
          arrivals: z.array(z.strictObject({ state: z.string(), count: z.int() })),
        }),
      ),
    }),
  ),
  /** Printed records issued by somebody of this keeper. */
  papers: z.array(
    z.strictObject({ transferId: z.uuid(), checkCode: z.string(), issuedAt: moment, content: z.unknown() }),
  ),
  notices: z.array(z.strictObject({ kind: z.string(), body: z.unknown(), dueOn: day.nullable(), createdAt: moment })),
  /** Parties without an account whom this keeper recorded. */
  outsideParties: z.array(z.strictObject({ name: z.string(), contact: z.string().nullable(), createdAt: moment })),
  stockBook: z.strictObject({
    asOf: day,
    arrivals: z.array(bookLine),
    departures: z.array(bookLine),
    closing: z.int(),
    unaccounted: z.int(),
  }),
});

export type ExportDocument = z.infer<typeof exportDocument>;
