import { z } from 'zod';
import { day, fileFacts, moment, when } from './parts.schema.js';

/** An animal or lot the keeper has, owns, or once had; of what has gone on, the record as it was when it left. */
export const animal = z.strictObject({
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
      id: z.uuid(),
      kind: z.string(),
      /** As in the registry; each kind has its own form. */
      body: z.record(z.string(), z.unknown()),
      when,
      recordedAt: moment,
      supersededAt: moment.nullable(),
      /** Why it was corrected, where this keeper corrected it. */
      reason: z.string().nullable(),
      /** The fact it puts back in force, after one that took its place was taken back. */
      restores: z.uuid().nullable(),
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
  /** Files this keeper sent, withdrawn ones too. */
  files: z.array(
    z.strictObject({
      ...fileFacts,
      caption: z.string().nullable(),
      /** As the camera wrote it. */
      claimedTakenAt: z.string().nullable(),
      when,
      uploadedAt: moment,
      withdrawnAt: moment.nullable(),
      withdrawnBecause: z.string().nullable(),
      /** Null once it is withdrawn. */
      address: z.string().nullable(),
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
