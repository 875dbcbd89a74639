import { z } from 'zod';
import { type Day, type UncertainDay } from '../../kernel/index.js';

/** How an animal began. */
export const BIRTH_MANNERS = ['hatched', 'born', 'metamorphosed', 'unknown'] as const;
export const SEXES = ['male', 'female', 'unknown'] as const;
export const ORIGIN_CLASSES = ['bred', 'wild', 'ranched', 'unknown'] as const;
export const FATES = [
  'alive',
  'dead',
  'missing',
  'stolen',
  'escaped',
  'seized',
  'surrendered',
  'left_registry',
] as const;
/** `private` notes stay with the keeper who wrote them; the others go with the animal. */
export const NOTE_TOPICS = ['care', 'health', 'private'] as const;

export type BirthManner = (typeof BIRTH_MANNERS)[number];
export type Sex = (typeof SEXES)[number];
export type OriginClass = (typeof ORIGIN_CLASSES)[number];
export type Fate = (typeof FATES)[number];
export type NoteTopic = (typeof NOTE_TOPICS)[number];

const text = (longest: number) =>
  z
    .string()
    .trim()
    .min(1, 'This is empty. | Write something, or leave the field out.')
    .max(longest, `This is longer than ${longest} characters. | Shorten it.`);

/** Schema of each kind of fact's body; checked on the way into the database and out of it. */
export const FACT_BODIES = {
  birth: z.strictObject({ manner: z.enum(BIRTH_MANNERS) }),
  sex: z.strictObject({
    sex: z.enum(SEXES),
    method: text(100).optional(),
    confidence: z.enum(['certain', 'likely', 'guess']).optional(),
  }),
  origin: z.strictObject({ originClass: z.enum(ORIGIN_CLASSES), statedBy: text(200).optional() }),
  name: z.strictObject({ name: text(100) }),
  seen: z.strictObject({}),
  fate: z.strictObject({
    fate: z.enum(FATES),
    cause: text(200).optional(),
    certainty: z.enum(['certain', 'likely', 'guess']).optional(),
  }),
  weight: z.strictObject({
    grams: z
      .number('Write the weight in grams as a number.')
      .positive('A weight is more than nothing. | Write grams, for example 42.5.')
      .max(1_000_000, 'Heavier than 1,000 kg. | Write grams.'),
  }),
  note: z.strictObject({ topic: z.enum(NOTE_TOPICS), text: text(4000) }),
} as const;

export type FactKind = keyof typeof FACT_BODIES;
type Bodies = { [K in FactKind]: z.infer<(typeof FACT_BODIES)[K]> };

/** Kind and body of a fact: what is said. */
export type FactBody = { [K in FactKind]: { readonly kind: K; readonly body: Bodies[K] } }[FactKind];

/** When something happened, as written and as a span of days; null = the day is not known. */
export type When = Pick<UncertainDay, 'edtf' | 'earliest' | 'latest'>;

/** A fact as recorded. */
export type Fact = FactBody & {
  readonly id: string;
  readonly when: When | null;
  readonly recordedAt: Date;
  readonly supersededAt: Date | null;
  /** The keeper on whose behalf it was recorded. */
  readonly keeperId: string;
};

/** Kinds of which one statement at a time is in force: a new one supersedes the one before. */
export const SINGLE_KINDS: readonly FactKind[] = ['birth', 'sex', 'origin', 'name', 'fate'];

/** Reads kind and body from storage. Throws ZodError or RangeError for what no version of this program can have written. */
export function parseFactBody(kind: string, body: unknown): FactBody {
  if (!(kind in FACT_BODIES)) throw new RangeError(`Unknown kind of fact: ${kind}`);
  const known = kind as FactKind;
  return { kind: known, body: FACT_BODIES[known].parse(body) } as FactBody;
}

/** What the facts in force say of an animal. */
export type Projection = {
  readonly name: string | null;
  readonly sex: Sex;
  readonly birth: (When & { readonly manner: BirthManner }) | null;
  /** How it began is known even where the day is not. */
  readonly birthManner: BirthManner;
  readonly originClass: OriginClass;
  readonly fate: Fate;
  readonly fateWhen: When | null;
  /** The last day on which it was surely there: of an uncertain day the earliest. */
  readonly lastSeenOn: Day | null;
};

/** The facts that were in force at a moment: recorded by then, and not yet superseded. */
export function inForce(facts: readonly Fact[], at: Date | null): Fact[] {
  if (at === null) return facts.filter((fact) => fact.supersededAt === null);
  return facts.filter((fact) => fact.recordedAt <= at && (fact.supersededAt === null || fact.supersededAt > at));
}

/** What was known of an animal at a moment; `null` = now. The columns of the animal table are this at `null`. */
export function project(facts: readonly Fact[], at: Date | null = null): Projection {
  const known = inForce(facts, at).toSorted((a, b) => a.recordedAt.getTime() - b.recordedAt.getTime());
  const last = <K extends FactKind>(kind: K) =>
    known.findLast((fact): fact is Extract<Fact, { kind: K }> => fact.kind === kind);
  const birth = last('birth');
  const fate = last('fate');
  const sightings = known.flatMap((fact) =>
    (fact.kind === 'seen' || fact.kind === 'weight') && fact.when?.earliest ? [fact.when.earliest] : [],
  );
  return {
    name: last('name')?.body.name ?? null,
    sex: last('sex')?.body.sex ?? 'unknown',
    birth: birth?.when ? { ...birth.when, manner: birth.body.manner } : null,
    birthManner: birth?.body.manner ?? 'unknown',
    originClass: last('origin')?.body.originClass ?? 'unknown',
    fate: fate?.body.fate ?? 'alive',
    fateWhen: fate?.when ?? null,
    lastSeenOn: sightings.toSorted().at(-1) ?? null,
  };
}
