import { z } from 'zod';
import { animalNumber, day, eggEvent, fileFacts, moment, when } from './parts.schema.js';

/** Kinds of records whose corrections are told together. */
export const CORRECTED = [
  'fact',
  'mark',
  'photo_session',
  'parentage',
  'custody',
  'ownership',
  'count',
  'stay',
  'mating',
  'clutch',
  'egg_event',
  'hatching',
  'document',
] as const;

const stays = z.array(z.strictObject({ animal: animalNumber, from: day, to: day.nullable() }));

/** What the keeper recorded beside the animals, as it stands today. */
export const records = {
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
      files: z.array(z.strictObject({ ...fileFacts, uploadedAt: moment, address: z.string() })),
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
      /** But for what others recorded of eggs they received. */
      eggEvents: z.array(z.strictObject({ egg: z.int().nullable(), ...eggEvent })),
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
  /**
   * What this keeper's people corrected or took back, with why, but for its own facts, which have their reasons with them: when the
   * statement was recorded and when it ceased to be in force. A `fact` here was another keeper's.
   */
  corrections: z.array(
    z.strictObject({
      of: z.enum(CORRECTED),
      animal: animalNumber,
      recordedAt: moment,
      supersededAt: moment.nullable(),
      reason: z.string(),
    }),
  ),
};
