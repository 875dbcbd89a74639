import { z } from 'zod';
import {
  ACQUISITION_MANNERS,
  BIRTH_MANNERS,
  type FactBody,
  LENGTH_MEASURES,
  ORIGIN_CLASSES,
  SEXES,
  TEMPERATURE_PLACES,
  TRAIT_BASES,
  TRAIT_STATES,
  type When,
} from '../core/fact.core.js';

/** Kinds of facts that `recordFact` takes; birth comes with the registration, a fate with its own use case. */
export const RECORDED_KINDS = [
  'weight',
  'length',
  'temperature',
  'sex',
  'seen',
  'note',
  'name',
  'origin',
  'acquisition',
  'trait',
  'hybrid',
] as const;

/** Kinds of facts that can be corrected, taken back and brought back. */
export const CORRECTED_KINDS = [...RECORDED_KINDS, 'birth'] as const;

/** A fact in a ledger entry: ids, days, codes and numbers. */
export const factInLedger = z.strictObject({
  factId: z.uuid(),
  kind: z.enum(CORRECTED_KINDS),
  earliest: z.string().nullable(),
  latest: z.string().nullable(),
  grams: z.number().optional(),
  measure: z.enum(LENGTH_MEASURES).optional(),
  millimetres: z.number().optional(),
  celsius: z.number().optional(),
  of: z.enum(TEMPERATURE_PLACES).optional(),
  sex: z.enum(SEXES).optional(),
  originClass: z.enum(ORIGIN_CLASSES).optional(),
  manner: z.enum([...new Set([...ACQUISITION_MANNERS, ...BIRTH_MANNERS])]).optional(),
  country: z.string().optional(),
  gene: z.string().optional(),
  state: z.enum(TRAIT_STATES).optional(),
  basis: z.enum(TRAIT_BASES).optional(),
  isHybrid: z.boolean().optional(),
});

/** A fact as it goes into the ledger: without any text about people. */
export function toLedger(factId: string, fact: FactBody | undefined, when: When | null): z.infer<typeof factInLedger> {
  if (fact === undefined || fact.kind === 'fate') throw new Error('This fact has a ledger entry of its own kind.');
  const days = { factId, kind: fact.kind, earliest: when?.earliest ?? null, latest: when?.latest ?? null };
  switch (fact.kind) {
    case 'weight':
    case 'length':
    case 'temperature':
    case 'birth':
      return { ...days, ...fact.body };
    case 'sex':
      return { ...days, sex: fact.body.sex };
    case 'origin':
      return { ...days, originClass: fact.body.originClass };
    case 'acquisition':
      return { ...days, manner: fact.body.manner, country: fact.body.country };
    case 'trait':
      return { ...days, gene: fact.body.gene, state: fact.body.state, basis: fact.body.basis };
    case 'hybrid':
      return { ...days, isHybrid: fact.body.of.length > 0 };
    default:
      return days;
  }
}

/** What of a fact is about people, or in a keeper's own words, by field: for the part of an entry that can be deleted. */
export function personalOfFact(fact: FactBody, reason: string | undefined): Record<string, string> {
  return {
    ...(fact.kind === 'note' ? { text: fact.body.text } : {}),
    ...(fact.kind === 'name' ? { name: fact.body.name } : {}),
    ...('statedBy' in fact.body && fact.body.statedBy !== undefined ? { statedBy: fact.body.statedBy } : {}),
    ...(reason === undefined ? {} : { reason }),
  };
}
