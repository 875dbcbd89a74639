import { z } from 'zod';
import {
  ACQUISITION_MANNERS,
  BIRTH_MANNERS,
  CERTAINTIES,
  type FactBody,
  type FactBodyOf,
  type FactKind,
  FATES,
  LENGTH_MEASURES,
  NOTE_TOPICS,
  ORIGIN_CLASSES,
  SEXES,
  TEMPERATURE_PLACES,
  TRAIT_BASES,
  TRAIT_STATES,
} from './core/fact.core.js';

const text = (longest: number) =>
  z
    .string()
    .trim()
    .min(1, 'This is empty. | Write something, or leave the field out.')
    .max(longest, `This is longer than ${longest} characters. | Shorten it.`);

/** Schema of each kind of fact's body; checked on the way into the database and out of it. */
export const FACT_BODIES: { readonly [K in FactKind]: z.ZodType<FactBodyOf<K>> } = {
  birth: z.strictObject({ manner: z.enum(BIRTH_MANNERS) }),
  sex: z.strictObject({ sex: z.enum(SEXES), method: text(100).optional(), confidence: z.enum(CERTAINTIES).optional() }),
  origin: z.strictObject({ originClass: z.enum(ORIGIN_CLASSES), statedBy: text(200).optional() }),
  acquisition: z.strictObject({
    manner: z.enum(ACQUISITION_MANNERS),
    country: z
      .string()
      .regex(/^[A-Z]{2}$/, 'This is not a country. | Write its two letters of ISO 3166-1, for example FR.')
      .optional(),
    statedBy: text(200).optional(),
  }),
  name: z.strictObject({ name: text(100) }),
  seen: z.strictObject({}),
  fate: z.strictObject({
    fate: z.enum(FATES),
    cause: text(200).optional(),
    certainty: z.enum(CERTAINTIES).optional(),
    foundBy: text(200).optional(),
  }),
  weight: z.strictObject({
    grams: z
      .number()
      .positive('A weight is more than nothing. | Write grams, for example 42.5.')
      .max(1_000_000, 'Heavier than 1,000 kg. | Write grams.'),
  }),
  length: z.strictObject({
    measure: z.enum(LENGTH_MEASURES),
    millimetres: z
      .number()
      .positive('A length is more than nothing. | Write it with its unit, for example 84 mm.')
      .max(100_000, 'Longer than 100 m. | Check number and unit.'),
  }),
  temperature: z.strictObject({
    celsius: z
      .number()
      .min(-90, 'Colder than any place on earth. | Write degrees Celsius.')
      .max(100, 'Hotter than boiling water. | Write degrees Celsius.'),
    of: z.enum(TEMPERATURE_PLACES),
  }),
  note: z.strictObject({ topic: z.enum(NOTE_TOPICS), text: text(4000) }),
  trait: z.strictObject({
    gene: text(60),
    state: z.enum(TRAIT_STATES),
    alleles: z.tuple([text(30), text(30)], 'A genotype has two alleles. | Name both, or leave them out.').optional(),
    basis: z.enum(TRAIT_BASES),
    certainty: z.enum(CERTAINTIES).optional(),
    statedBy: text(200).optional(),
  }),
  hybrid: z.strictObject({
    of: z.array(text(100)).max(8, 'More than 8 taxa. | Name those that are known.'),
    statedBy: text(200).optional(),
  }),
};

/** Reads kind and body from storage. Throws ZodError or RangeError for what no version of this program can have written. */
export function parseFactBody(kind: string, body: unknown): FactBody {
  if (!(kind in FACT_BODIES)) throw new RangeError(`Unknown kind of fact: ${kind}`);
  const known = kind as FactKind;
  return { kind: known, body: FACT_BODIES[known].parse(body) } as FactBody;
}
