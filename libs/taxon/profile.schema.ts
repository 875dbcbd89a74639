import { z } from 'zod';

const source = z.string().trim().min(1);

/** One limit, a whole number of days or pieces, and who says so. */
const limit = z.object({ value: z.int().positive(), source });

/** A range. `value` is a typical number, which is never a limit: a mean from a database says nothing of the earliest or latest. */
const range = z
  .object({
    value: z.number().positive().optional(),
    min: z.number().positive().optional(),
    max: z.number().positive().optional(),
    source,
  })
  .refine(({ value, min, max }) => value !== undefined || min !== undefined || max !== undefined, 'No number is given.')
  .refine(({ min, max }) => min === undefined || max === undefined || min <= max, 'The range ends before it begins.');

/** Appendices of the convention in which a taxon can be listed; `none` = not listed. */
export const APPENDICES = ['I', 'II', 'III', 'none'] as const;

export const REPRODUCTION_MODES = ['egg_laying', 'live_bearing'] as const;
/** Facultative: now and then, beside the usual way. Obligate: always, the taxon has no males or does not need them. */
export const PARTHENOGENESIS = ['facultative', 'obligate'] as const;

/**
 * What is said of a taxon's biology and listing, each with its source. All of it is optional: what is missing warns nobody.
 * Numbers of days unless named otherwise.
 */
export const taxonProfile = z.object({
  /** From birth to the first breeding of a female. */
  maturityDays: range.optional(),
  /** The shortest time from a mating to the laying, or birth, that it leads to. */
  matingToLayingMinDays: limit.optional(),
  /** The longest time a female keeps sperm that still fertilises. */
  spermStorageMaxDays: limit.optional(),
  /** From laying to hatching. */
  incubationDays: range.optional(),
  /** The largest clutch, in eggs or young. */
  clutchSizeMax: limit.optional(),
  /** From one laying, or birth, of a female to her next. */
  clutchIntervalDays: range.optional(),
  /** Degrees Celsius at which eggs are incubated. */
  incubationCelsius: range.optional(),
  reproduction: z.object({ value: z.enum(REPRODUCTION_MODES), source }).optional(),
  /** Given only where development without a sire is known; nothing else allows a parentage claim of that kind. */
  parthenogenesis: z.object({ value: z.enum(PARTHENOGENESIS), source }).optional(),
  longevityMaxDays: limit.optional(),
  /** Of grown animals. */
  massGrams: range.optional(),
  /** Of grown animals, in millimetres, along the measure the source names. */
  lengthMillimetres: range.optional(),
  /** From when on young are handed over: an age in days, a weight in grams, or both. */
  handOverMinimum: z
    .object({ days: z.int().positive().optional(), grams: z.number().positive().optional(), source })
    .optional(),
  appendix: z.object({ value: z.enum(APPENDICES), source }).optional(),
});

export type TaxonProfile = z.infer<typeof taxonProfile>;

/** Reads a stored profile. Throws ZodError for one that no version of this program can have written. */
export function parseTaxonProfile(stored: unknown): TaxonProfile {
  return taxonProfile.parse(stored);
}
