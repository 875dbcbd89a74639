import type { Day, UncertainDay } from '../../kernel/index.js';

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
/** How a keeper came by an animal. */
export const ACQUISITION_MANNERS = ['wild_taken', 'bought', 'gift', 'bred_here', 'confiscated', 'unknown'] as const;
/** `private` notes stay with the keeper who wrote them; the others go with the animal. */
export const NOTE_TOPICS = ['care', 'health', 'private'] as const;

export type BirthManner = (typeof BIRTH_MANNERS)[number];
export type Sex = (typeof SEXES)[number];
export type OriginClass = (typeof ORIGIN_CLASSES)[number];
export type Fate = (typeof FATES)[number];
export type AcquisitionManner = (typeof ACQUISITION_MANNERS)[number];
export type NoteTopic = (typeof NOTE_TOPICS)[number];

/** How surely something is known. */
export const CERTAINTIES = ['certain', 'likely', 'guess'] as const;
export type Certainty = (typeof CERTAINTIES)[number];

/** What an animal shows or carries of a gene: seen on it, carried unseen for certain, possibly carried, or not there. */
export const TRAIT_STATES = ['visible', 'carrier', 'possible', 'absent'] as const;
export type TraitState = (typeof TRAIT_STATES)[number];

/** How a trait is known: said by somebody, found by a genetic test, or following from the parents by Mendel's rules. */
export const TRAIT_BASES = ['declared', 'tested', 'by_parents'] as const;
export type TraitBasis = (typeof TRAIT_BASES)[number];

/** Along what a length is measured, in the terms of anatomy. `total` reaches from the tip of the head to the end of the tail. */
export const LENGTH_MEASURES = [
  'total',
  'snout_vent',
  'tail',
  'head_length',
  'head_body',
  'carapace_straight',
  'carapace_curved',
  'carapace_width',
  'plastron',
  'wing_chord',
  'tarsus',
  'bill',
  'forearm',
  'hind_foot',
  'standard',
  'fork',
] as const;
export type LengthMeasure = (typeof LENGTH_MEASURES)[number];

/** What a temperature was read from: the animal's body, or the enclosure around it. */
export const TEMPERATURE_PLACES = ['animal', 'enclosure'] as const;
export type TemperaturePlace = (typeof TEMPERATURE_PLACES)[number];

/** What each kind of fact says. */
type Bodies = {
  birth: { manner: BirthManner };
  sex: { sex: Sex; method?: string | undefined; confidence?: Certainty | undefined };
  origin: { originClass: OriginClass; statedBy?: string | undefined };
  /** `country`: ISO 3166-1 alpha-2, where it was taken or bought. */
  acquisition: { manner: AcquisitionManner; country?: string | undefined; statedBy?: string | undefined };
  name: { name: string };
  seen: Record<string, never>;
  /** `foundBy`: who found it, of an animal that is back. */
  fate: {
    fate: Fate;
    cause?: string | undefined;
    certainty?: Certainty | undefined;
    foundBy?: string | undefined;
  };
  weight: { grams: number };
  length: { measure: LengthMeasure; millimetres: number };
  temperature: { celsius: number; of: TemperaturePlace };
  note: { topic: NoteTopic; text: string };
  /** One gene with one locus; `alleles` are its two, as the test or the trade names them. One statement a gene is in force. */
  trait: {
    gene: string;
    state: TraitState;
    alleles?: readonly [string, string] | undefined;
    basis: TraitBasis;
    certainty?: Certainty | undefined;
    statedBy?: string | undefined;
  };
  /** The taxa it descends from, by name; none takes an earlier statement back. */
  hybrid: { of: readonly string[]; statedBy?: string | undefined };
};

export type FactKind = keyof Bodies;
/** The body of one kind of fact. */
export type FactBodyOf<K extends FactKind> = Bodies[K];

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
export const SINGLE_KINDS: readonly FactKind[] = ['birth', 'sex', 'origin', 'acquisition', 'name', 'fate', 'hybrid'];

/** Kinds that say what an animal is and what became of it; the others are events, of which there can be thousands. */
export const STANDING_KINDS: readonly FactKind[] = [...SINGLE_KINDS, 'trait'];

/** Kinds that are recorded with the animal at hand; a temperature is one where it is the animal's own. */
export const SIGHTING_KINDS: readonly FactKind[] = ['seen', 'weight', 'length'];

/** What the facts in force say of an animal. */
export type Projection = {
  readonly name: string | null;
  readonly sex: Sex;
  readonly birth: (When & { readonly manner: BirthManner }) | null;
  /** How it began is known even where the day is not. */
  readonly birthManner: BirthManner;
  readonly originClass: OriginClass;
  /** By what is stated it descends from more than one taxon. */
  readonly isHybrid: boolean;
  readonly fate: Fate;
  readonly fateWhen: When | null;
  /** The last day on which it was surely there: of an uncertain day the earliest. */
  readonly lastSeenOn: Day | null;
};

/** Whether a fact can only have been recorded with the animal at hand; the reading of an enclosure can be without it. */
export function isSighting(fact: FactBody): boolean {
  if (fact.kind === 'temperature') return fact.body.of === 'animal';
  return SIGHTING_KINDS.includes(fact.kind);
}

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
  const sightings = known.flatMap((fact) => (isSighting(fact) && fact.when?.earliest ? [fact.when.earliest] : []));
  return {
    name: last('name')?.body.name ?? null,
    sex: last('sex')?.body.sex ?? 'unknown',
    birth: birth?.when ? { ...birth.when, manner: birth.body.manner } : null,
    birthManner: birth?.body.manner ?? 'unknown',
    originClass: last('origin')?.body.originClass ?? 'unknown',
    isHybrid: (last('hybrid')?.body.of.length ?? 0) > 0,
    fate: fate?.body.fate ?? 'alive',
    fateWhen: fate?.when ?? null,
    lastSeenOn: sightings.toSorted().at(-1) ?? null,
  };
}
