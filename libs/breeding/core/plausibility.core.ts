import { type Answer, daysApart, daysInWords, type DaySpan } from '../../kernel/index.js';
import { type BreedingBounds, type BreedingWarning, type Range } from './bounds.core.js';

/** A parent as far as plausibility asks. */
export type WarnedParent = { readonly sex: 'male' | 'female' | 'unknown'; readonly birth: DaySpan };

/** What is held against the bounds of the taxon when a clutch is recorded. */
export type ClutchToWeigh = {
  readonly kind: 'eggs' | 'born';
  readonly eggCount: number | null;
  readonly laid: DaySpan;
  /** Where she is certain. */
  readonly dam: WarnedParent | null;
  /** The days of the other clutches of that dam. */
  readonly otherClutches: readonly DaySpan[];
};

/** Warnings about a clutch. Bounds never refuse: animals know no bounds, and sources disagree. */
export function clutchWarnings(clutch: ClutchToWeigh, bounds: BreedingBounds): BreedingWarning[] {
  const { clutchSizeMax } = bounds;
  const warnings: BreedingWarning[] = [];
  if (clutch.eggCount !== null && clutchSizeMax !== undefined && clutch.eggCount > clutchSizeMax.value) {
    warnings.push({
      code: 'CLUTCH_TOO_LARGE',
      message: `${clutch.eggCount} in one clutch; the largest known for this taxon is ${clutchSizeMax.value} (${clutchSizeMax.source}). Two dams can have laid in one place.`,
    });
  }
  warnings.push(...intervalWarnings(clutch, bounds));
  if (clutch.dam !== null) {
    warnings.push(...layingMaleWarnings(clutch.dam), ...youngParentWarnings('dam', clutch.dam, clutch.laid, bounds));
  }
  if (
    bounds.reproduction !== undefined &&
    (bounds.reproduction.value === 'live_bearing') !== (clutch.kind === 'born')
  ) {
    warnings.push({
      code: 'REPRODUCTION_UNUSUAL',
      message: `This taxon is known as ${bounds.reproduction.value.replace('_', '-')} (${bounds.reproduction.source}). Check whether it was eggs or young.`,
    });
  }
  return warnings;
}

/** Is the time between two clutches surely, perhaps or surely not shorter than `min` days, in whatever order they came? */
export function closerThan(a: DaySpan, b: DaySpan, min: number): Answer {
  const [there, back] = [daysApart(a, b), daysApart(b, a)];
  const most = there.most === null || back.most === null ? null : Math.max(there.most, back.most);
  const fewest = Math.max(there.fewest ?? -Infinity, back.fewest ?? -Infinity, 0);
  if (most !== null && most < min) return 'yes';
  return fewest >= min ? 'no' : 'possible';
}

/** Whether both ends are known: an open date leaves everything possible and is worth no warning. */
const isClosed = (span: DaySpan) => span.earliest !== null && span.latest !== null;

function intervalWarnings({ laid, otherClutches }: ClutchToWeigh, { clutchIntervalDays }: BreedingBounds) {
  const min = clutchIntervalDays?.min;
  if (clutchIntervalDays === undefined || min === undefined) return [];
  const answers = otherClutches.map((other) => ({ other, answer: closerThan(laid, other, min) }));
  const sure = answers.find(({ answer }) => answer === 'yes');
  const perhaps = answers.find(({ answer, other }) => answer === 'possible' && isClosed(laid) && isClosed(other));
  const found = sure ?? perhaps;
  if (found === undefined) return [];
  const may = sure === undefined ? 'may be' : 'is';
  const message = `This dam has another clutch ${daysInWords(found.other)}. That ${may} less than the ${min} days from one clutch to the next known for this taxon (${clutchIntervalDays.source}). Check the days and the dam.`;
  return [{ code: 'CLUTCH_INTERVAL_SHORT', message } as const];
}

/** A dam recorded as male: who lays is female, so what needs correcting is the sex. */
export function layingMaleWarnings(dam: Pick<WarnedParent, 'sex'>): BreedingWarning[] {
  if (dam.sex !== 'male') return [];
  return [
    {
      code: 'LAYS_BUT_RECORDED_MALE',
      message: 'The dam is recorded as male. If she laid, correct her sex with `recordFact`; if not, correct the dam.',
    },
  ];
}

/** A parent that was surely younger than the youngest age at which the taxon is known to breed. */
export function youngParentWarnings(
  role: 'dam' | 'sire',
  parent: Pick<WarnedParent, 'birth'>,
  at: DaySpan,
  { maturityDays }: BreedingBounds,
): BreedingWarning[] {
  const { most } = daysApart(parent.birth, at);
  if (maturityDays?.min === undefined || most === null || most >= maturityDays.min) return [];
  return [
    {
      code: 'PARENT_TOO_YOUNG',
      message: `The ${role} was at most ${most} days old; the youngest age of breeding known for this taxon is ${maturityDays.min} days (${maturityDays.source}).`,
    },
  ];
}

/** Days from laying to hatching outside what is known, for sure or (both dates closed) perhaps. */
export function incubationWarnings(
  laid: DaySpan,
  hatched: DaySpan,
  { incubationDays }: BreedingBounds,
): BreedingWarning[] {
  if (incubationDays === undefined) return [];
  const { fewest, most } = daysApart(laid, hatched);
  const outside = outsideRange(fewest, most, incubationDays);
  if (outside === null || (!outside.sure && !(isClosed(laid) && isClosed(hatched)))) return [];
  const days = fewest === most ? `${most} days` : `${Math.max(0, fewest ?? 0)} to ${most ?? 'more'} days`;
  return [
    {
      code: 'INCUBATION_OUT_OF_RANGE',
      message: `From laying to hatching ${days} passed. That ${outside.sure ? 'is' : 'may be'} outside ${outside.words} days known for this taxon (${incubationDays.source}).`,
    },
  ];
}

/** A temperature of incubation outside what is known. */
export function temperatureWarnings(celsius: number | null, { incubationCelsius }: BreedingBounds): BreedingWarning[] {
  if (celsius === null || incubationCelsius === undefined) return [];
  const outside = outsideRange(celsius, celsius, incubationCelsius);
  if (outside === null) return [];
  return [
    {
      code: 'INCUBATION_TEMPERATURE_UNUSUAL',
      message: `${celsius} °C is outside ${outside.words} °C known for this taxon (${incubationCelsius.source}).`,
    },
  ];
}

/** Whether what lies from `fewest` to `most` is surely or perhaps outside the range; null = inside, or nothing to compare with. */
function outsideRange(
  fewest: number | null,
  most: number | null,
  range: Range,
): { sure: boolean; words: string } | null {
  const { min, max } = range;
  const words = min === undefined ? `at most ${max}` : max === undefined ? `at least ${min}` : `the ${min} to ${max}`;
  const sure =
    (min !== undefined && most !== null && most < min) || (max !== undefined && fewest !== null && fewest > max);
  if (sure) return { sure, words };
  const perhaps =
    (min !== undefined && (fewest === null || fewest < min)) || (max !== undefined && (most === null || most > max));
  return perhaps ? { sure: false, words } : null;
}

/** Two young from one egg: twins are real, and rare enough to look twice. */
export function twinWarning(eggNumber: number): BreedingWarning {
  return {
    code: 'TWINS',
    message: `Two young are recorded from egg ${eggNumber}. Twins happen; check the number of the egg.`,
  };
}
