import { z } from 'zod';
import { idInput } from '../../platform/input/index.js';
import { type SupersedeFactCommand } from '../app/correct-fact.js';
import { MAX_FACTS, type RecordFactCommand } from '../app/record-facts.js';
import { type FactBody, type FactKind, LENGTH_MEASURES, TEMPERATURE_PLACES } from '../core/fact.core.js';
import { QUANTITIES, readMeasurement, UNITS } from '../core/measurement.core.js';
import { FACT_BODIES } from '../fact-body.js';
import { uncertainDay } from '../uncertain-day.schema.js';

const given = <T>(value: T | null | undefined): T | undefined => value ?? undefined;

const reason = z
  .string()
  .trim()
  .min(1, 'A reason is missing. | Say in a few words why.')
  .max(500, 'This is longer than 500 characters. | Shorten it.');

/** The fields in which a fact can be said; Zod checks each with the schema it is stored by. */
const said = {
  weightGrams: z.number().nullish(),
  measurement: z
    .object({
      quantity: z.enum(QUANTITIES),
      value: z.number(),
      unit: z.enum(UNITS),
      measure: z.enum(LENGTH_MEASURES).nullish(),
      of: z.enum(TEMPERATURE_PLACES).nullish(),
    })
    .nullish(),
  sex: z.object({ sex: z.string(), method: z.string().nullish(), confidence: z.string().nullish() }).nullish(),
  seen: z.literal(true, 'Write true, or leave the field out.').nullish(),
  note: z.object({ topic: z.string(), text: z.string() }).nullish(),
  name: z.string().nullish(),
  origin: z.object({ originClass: z.string(), statedBy: z.string().nullish() }).nullish(),
  acquisition: z
    .object({ manner: z.string(), country: z.string().nullish(), statedBy: z.string().nullish() })
    .nullish(),
  trait: z
    .object({
      gene: z.string(),
      state: z.string(),
      alleles: z.array(z.string()).nullish(),
      basis: z.string(),
      certainty: z.string().nullish(),
      statedBy: z.string().nullish(),
    })
    .nullish(),
  hybrid: z.object({ of: z.array(z.string()), statedBy: z.string().nullish() }).nullish(),
  birthManner: z.string().nullish(),
};

type Said = z.infer<z.ZodObject<typeof said>>;
type Candidate = { readonly path: string; readonly kind: FactKind; readonly body: unknown };
type Read = { readonly path: string; readonly fact: FactBody };

/** The facts given, not yet checked; null where a measurement does not hold together, which was then told. */
function candidates(input: Said, context: z.RefinementCtx): Candidate[] | null {
  const found: Candidate[] = [];
  const add = (path: string, kind: FactKind, body: unknown): void => void found.push({ path, kind, body });
  const { weightGrams, measurement, sex, seen, note, name, origin, acquisition, trait, hybrid, birthManner } = input;
  if (given(weightGrams) !== undefined) add('weightGrams', 'weight', { grams: weightGrams });
  if (measurement) {
    const read = readMeasurement({ ...measurement, measure: measurement.measure ?? null, of: measurement.of ?? null });
    if (!read.ok) {
      context.addIssue({
        code: 'custom',
        path: ['measurement', read.field],
        message: `${read.message} | ${read.remedy}`,
      });
      return null;
    }
    add('measurement', read.fact.kind, read.fact.body);
  }
  if (sex) add('sex', 'sex', { sex: sex.sex, method: given(sex.method), confidence: given(sex.confidence) });
  if (seen) add('seen', 'seen', {});
  if (note) add('note', 'note', note);
  if (given(name) !== undefined) add('name', 'name', { name });
  if (origin) add('origin', 'origin', { originClass: origin.originClass, statedBy: given(origin.statedBy) });
  if (acquisition) {
    const { manner, country, statedBy } = acquisition;
    add('acquisition', 'acquisition', { manner, country: given(country), statedBy: given(statedBy) });
  }
  if (trait) {
    const { gene, state, alleles, basis, certainty, statedBy } = trait;
    add('trait', 'trait', {
      gene,
      state,
      basis,
      alleles: given(alleles),
      certainty: given(certainty),
      statedBy: given(statedBy),
    });
  }
  if (hybrid) add('hybrid', 'hybrid', { of: hybrid.of, statedBy: given(hybrid.statedBy) });
  if (given(birthManner) !== undefined) add('birthManner', 'birth', { manner: birthManner });
  return found;
}

/** Checks what a fact says; null where it does not fit, which was then told. */
function check({ path, kind, body }: Candidate, context: z.RefinementCtx): Read | null {
  const checked = FACT_BODIES[kind].safeParse(body);
  if (checked.success) return { path, fact: { kind, body: checked.data } as FactBody };
  for (const issue of checked.error.issues) context.addIssue({ code: 'custom', message: issue.message, path: [path] });
  return null;
}

/** Input of `recordFact` as a command. */
export const recordFactCommand = z
  .object({ animalId: idInput, when: uncertainDay.nullish(), reason: reason.nullish(), ...said })
  .omit({ birthManner: true })
  .transform((input, context): RecordFactCommand => {
    const facts = candidates(input, context);
    const [fact] = facts ?? [];
    if (facts !== null && (fact === undefined || facts.length > 1)) {
      context.addIssue({
        code: 'custom',
        message: `${facts.length} facts are given. | Give exactly one of weightGrams, measurement, sex, seen, note, name, origin, acquisition, trait, hybrid.`,
      });
      return z.NEVER;
    }
    const read = fact === undefined ? null : check(fact, context);
    if (read === null) return z.NEVER;
    return {
      animalId: input.animalId,
      fact: read.fact as RecordFactCommand['fact'],
      when: input.when ?? null,
      reason: given(input.reason),
    };
  });

/** Input of `recordFacts` as commands. */
export const recordFactsCommand = z.object({
  facts: z
    .array(recordFactCommand)
    .min(1, 'No fact is given. | Give one at least.')
    .max(MAX_FACTS, `More than ${MAX_FACTS} facts. | Send them in several calls.`),
});

/** Input of `supersedeFact` as a command. */
export const supersedeFactCommand = z
  .object({ factId: idInput, when: uncertainDay.nullable().optional(), reason, ...said })
  .transform((input, context): SupersedeFactCommand => {
    const facts = candidates(input, context);
    if (facts === null) return z.NEVER;
    const [fact] = facts;
    if (facts.length > 1 || (fact === undefined && input.when === undefined)) {
      context.addIssue({
        code: 'custom',
        message:
          facts.length > 1
            ? `${facts.length} facts are given. | Give one: what this fact should say.`
            : 'Nothing is to be corrected. | Give what it should say, or when it was so.',
      });
      return z.NEVER;
    }
    const says = fact === undefined ? undefined : check(fact, context);
    if (says === null) return z.NEVER;
    return { factId: input.factId, reason: input.reason, when: input.when, says };
  });

/** Input of `withdrawFact` and `restoreFact` as a command. */
export const reasonedCommand = z.object({ factId: idInput, reason });
