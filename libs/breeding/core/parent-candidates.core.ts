import { shiftDay, type Day, daysApart, daysBetween, type DaySpan, isBefore } from '../../kernel/index.js';
import { type BreedingBounds, type BreedingWarning } from './bounds.core.js';

/** What a candidate rests on, strongest first. */
export const CANDIDATE_BASES = ['genetic_test', 'observed', 'shared_enclosure', 'declared'] as const;
export type CandidateBasis = (typeof CANDIDATE_BASES)[number];

/** A possible parent; probabilities of a list sum to 1. */
export type Candidate = { readonly id: string; readonly probability: number };

/** A male, or an animal of unknown sex, with the half-open days [from, to) on which it lived with one of the dams. */
export type Companion = {
  readonly id: string;
  readonly sex: 'male' | 'unknown';
  readonly birth: DaySpan;
  readonly shared: readonly { readonly damId: string; readonly from: Day; readonly to: Day | null }[];
};

/** A recorded mating of one of the dams. */
export type DamMating = {
  readonly damId: string;
  readonly sireId: string | null;
  readonly basis: CandidateBasis;
  readonly when: DaySpan;
};

export type SireQuestion = {
  readonly dams: readonly Candidate[];
  /** The days on which it was laid, or born. */
  readonly laid: DaySpan;
  readonly today: Day;
  readonly bounds: BreedingBounds;
  readonly companions: readonly Companion[];
  readonly matings: readonly DamMating[];
  /** `equal` when null: see `proposeSires`. */
  readonly weighing: Weighing | null;
};

export const WEIGHINGS = ['equal', 'shared_days'] as const;
export type Weighing = (typeof WEIGHINGS)[number];

export type SireCandidate = Candidate & {
  readonly basis: CandidateBasis;
  /** Days it lived with one of the dams within the window. */
  readonly sharedDays: number;
};

export type SireProposal = {
  readonly candidates: readonly SireCandidate[];
  /** Matings on these days can have led to it, both days included; `from` null = no limit is known. */
  readonly window: { readonly from: Day | null; readonly until: Day };
  readonly warnings: readonly BreedingWarning[];
};

/**
 * Who can be the sire of a clutch, from who lived with its possible dams, and from recorded matings, on days that can have
 * led to it: back from the laying as far as the taxon keeps sperm, up to the shortest time from mating to laying.
 *
 * Conventions of this registry, without a published source:
 * - a genetic test outweighs an observed mating, that outweighs living together: only the strongest kind there is for a dam counts,
 *   and the other males are named in a warning, for stored sperm of another male stays possible;
 * - within a kind each sire is as likely as the others (`equal`): days together say who had the chance, not how often it was
 *   taken. `shared_days` weighs by the days instead, for who wants that;
 * - several possible dams: each dam's sires weighted with her probability; dams nobody was with are left out of the sum.
 */
export function proposeSires(question: SireQuestion): SireProposal {
  const window = sireWindow(question);
  const ways = question.dams.map((dam) => ({ dam, ...sharesOf(dam.id, question, window) }));
  const known = ways.filter(({ shares }) => shares.size > 0);
  const weightOfAll = known.reduce((sum, { dam }) => sum + dam.probability, 0);
  const weights = new Map<string, number>();
  for (const { dam, shares } of known)
    for (const [id, share] of shares) weights.set(id, (weights.get(id) ?? 0) + (dam.probability / weightOfAll) * share);
  const basisOf = (id: string): CandidateBasis =>
    weakest(known.filter(({ shares }) => shares.has(id)).map(({ basis }) => basis));
  const candidates = toProbabilities(weights).map((candidate) => ({
    ...candidate,
    basis: basisOf(candidate.id),
    sharedDays: sharedDaysOf(candidate.id, question, window),
  }));
  return { candidates, window, warnings: warningsOf(question, candidates, known.length < ways.length) };
}

/** The claim's basis: the weakest any candidate rests on, for the claim is no better than that. */
export function weakest(bases: readonly CandidateBasis[]): CandidateBasis {
  const places = bases.map((basis) => CANDIDATE_BASES.indexOf(basis));
  return CANDIDATE_BASES[Math.max(0, ...places)] ?? 'declared';
}

/** Equal probabilities for some candidates. */
export function equally(ids: readonly string[]): Candidate[] {
  return toProbabilities(new Map(ids.map((id) => [id, 1])));
}

/** Decimal places a stored probability has. */
const UNITS = 100_000_000;

/** Weights as probabilities of eight decimals that sum to exactly 1, by largest remainder; most probable first, then by id. */
export function toProbabilities(weights: ReadonlyMap<string, number>): Candidate[] {
  const entries = [...weights].filter(([, weight]) => weight > 0).toSorted(([a], [b]) => (a < b ? -1 : 1));
  const total = entries.reduce((sum, [, weight]) => sum + weight, 0);
  const exact = entries.map(([id, weight]) => ({ id, units: (weight / total) * UNITS }));
  let missing = UNITS - exact.reduce((sum, { units }) => sum + Math.floor(units), 0);
  const byRemainder = exact.toSorted((a, b) => (b.units % 1) - (a.units % 1) || (a.id < b.id ? -1 : 1));
  const whole = new Map(byRemainder.map(({ id, units }) => [id, Math.floor(units) + (missing-- > 0 ? 1 : 0)]));
  return exact
    .map(({ id }) => ({ id, probability: (whole.get(id) ?? 0) / UNITS }))
    .filter(({ probability }) => probability > 0)
    .toSorted((a, b) => b.probability - a.probability || (a.id < b.id ? -1 : 1));
}

/** The days on which a mating, or a stay together, can have led to a clutch. */
export function sireWindow({
  laid,
  today,
  bounds,
}: Pick<SireQuestion, 'laid' | 'today' | 'bounds'>): SireProposal['window'] {
  const last = laid.latest === null || laid.latest > today ? today : laid.latest;
  const storage = bounds.spermStorageMaxDays?.value;
  return {
    from: laid.earliest === null || storage === undefined ? null : shiftDay(laid.earliest, -storage),
    until: shiftDay(last, -(bounds.matingToLayingMinDays?.value ?? 0)),
  };
}

type Window = SireProposal['window'];

/** The sires of one dam with their shares, which sum to 1; empty where none is known. */
function sharesOf(
  damId: string,
  question: SireQuestion,
  window: Window,
): { basis: CandidateBasis; shares: ReadonlyMap<string, number> } {
  const matings = question.matings.filter(
    (mating) => mating.damId === damId && mating.sireId !== null && mayLieIn(mating.when, window),
  );
  for (const basis of ['genetic_test', 'observed'] as const) {
    const sires = new Set(
      matings.flatMap((mating) => (mating.basis === basis && mating.sireId ? [mating.sireId] : [])),
    );
    if (sires.size > 0) return { basis, shares: shares(new Map([...sires].map((id) => [id, 1]))) };
  }
  const weights = new Map<string, number>();
  for (const companion of question.companions) {
    const days = daysWith(companion, damId, window);
    if (days > 0 && couldSire(companion, question))
      weights.set(companion.id, question.weighing === 'shared_days' ? days : 1);
  }
  const together = weights.size > 0 || matings.some(({ basis }) => basis === 'shared_enclosure');
  for (const { sireId } of matings) if (sireId !== null && !weights.has(sireId)) weights.set(sireId, 1);
  return { basis: together ? 'shared_enclosure' : 'declared', shares: shares(weights) };
}

function shares(weights: ReadonlyMap<string, number>): Map<string, number> {
  const total = [...weights.values()].reduce((sum, weight) => sum + weight, 0);
  return new Map([...weights].map(([id, weight]) => [id, weight / total]));
}

/** Whether it can have happened on days of the window. */
export function mayLieIn(when: DaySpan, window: Window): boolean {
  const after = when.latest === null || window.from === null || when.latest >= window.from;
  return after && (when.earliest === null || when.earliest <= window.until);
}

/** Days the two shared within the window. */
function daysWith(companion: Companion, damId: string, window: Window): number {
  return companion.shared.reduce((sum, stay) => {
    if (stay.damId !== damId) return sum;
    const from = window.from !== null && window.from > stay.from ? window.from : stay.from;
    const end = shiftDay(window.until, 1);
    const to = stay.to === null || stay.to > end ? end : stay.to;
    return sum + Math.max(0, daysBetween(from, to));
  }, 0);
}

function sharedDaysOf(id: string, question: SireQuestion, window: Window): number {
  const companion = question.companions.find((each) => each.id === id);
  if (companion === undefined) return 0;
  return Math.max(0, ...question.dams.map((dam) => daysWith(companion, dam.id, window)));
}

/** Not when it surely was not born yet, or surely younger than the youngest age of maturity the profile gives. */
function couldSire(companion: Companion, { laid, today, bounds }: SireQuestion): boolean {
  const at = { earliest: laid.earliest, latest: laid.latest ?? today };
  if (isBefore(at, companion.birth) === 'yes') return false;
  const { most } = daysApart(companion.birth, at);
  const youngest = bounds.maturityDays?.min;
  return youngest === undefined || most === null || most >= youngest;
}

function warningsOf(
  question: SireQuestion,
  candidates: readonly SireCandidate[],
  someDamAlone: boolean,
): BreedingWarning[] {
  const { bounds, companions } = question;
  const warnings: BreedingWarning[] = [];
  if (candidates.length === 0) {
    warnings.push({
      code: 'NO_SIRE_KNOWN',
      message: 'By the records no possible sire was with the dam in time. The sire stays unknown unless you name one.',
    });
  } else if (someDamAlone) {
    warnings.push({
      code: 'DAM_WITHOUT_SIRE',
      message: 'One of the possible dams was with no possible sire; the probabilities count the other dams alone.',
    });
  }
  if (bounds.spermStorageMaxDays === undefined) {
    warnings.push({
      code: 'SPERM_STORAGE_UNKNOWN',
      message:
        'How long this taxon keeps sperm is not known here: everybody who was ever with the dam before is counted.',
    });
  }
  const named = new Set(candidates.map(({ id }) => id));
  const window = sireWindow(question);
  const passedOver = companions.filter(
    (each) =>
      !named.has(each.id) &&
      couldSire(each, question) &&
      question.dams.some((dam) => daysWith(each, dam.id, window) > 0),
  );
  if (passedOver.length > 0) {
    warnings.push({
      code: 'OTHER_MALES_WITH_DAM',
      message: `${passedOver.length} other possible sire(s) lived with the dam in time; a mating that was seen outweighs that. A genetic test would decide.`,
    });
  }
  if (companions.some((each) => each.sex === 'unknown' && named.has(each.id))) {
    warnings.push({
      code: 'SIRE_UNSEXED',
      message: 'The sex of one of the possible sires is not known. Record it, or choose the sires yourself.',
    });
  }
  return warnings;
}
