import { type Day, daysBetween } from '../../kernel/index.js';
import { type Warning } from './mark.core.js';
import { type DayValue, type Measurement, median, type SeriesKey, UNIT_KEPT } from './measurement.core.js';

/*
 * When a step in a series is worth a question. A convention of this program, without a published source; it warns and
 * never refuses.
 *
 * Weights and lengths are compared by their ratio. What may be without a warning grows with the days between two readings:
 * at once a weight may change by 30 % (a meal, a clutch laid), a length by 10 % (how it was held); beyond that it may double
 * or halve in 60 days, or, where the animal has five steps or more of its own (one slip makes two odd steps), change six times as fast as its median, but
 * never less than doubling in a year. Temperatures are compared by their difference from the median of the others: 8 °C.
 */
const AT_ONCE = { weight: Math.log(1.3), length: Math.log(1.1) } as const;
const PER_DAY_UNKNOWN = Math.LN2 / 60;
const PER_DAY_LEAST = Math.LN2 / 365;
const TIMES_MEDIAN = 6;
const STEPS_ENOUGH = 5;
const CELSIUS_APART = 8;
const READINGS_ENOUGH = 4;
/** How far from 10, 100, 1/10 a ratio still looks like a slipped decimal point or unit: a factor of 1.4 either way. */
const SLIP_WIDTH = Math.log10(1.4);

/** One day of a series: its value, the change since the day before in the series, and what looks odd. */
export type GrowthPoint = DayValue & {
  /** In the unit kept, a day; null on the first day. */
  readonly changePerDay: number | null;
  /** Share of the value before, a day: 0.01 = one percent a day. Null for temperatures and on the first day. */
  readonly relativeChangePerDay: number | null;
  readonly warnings: readonly Warning[];
};

/** The curve of a series, with a warning on every day that does not fit what the animal was like before. */
export function growthOf(days: readonly DayValue[], series: SeriesKey): GrowthPoint[] {
  const odd = series.quantity === 'temperature' ? oddTemperatures(days) : oddSteps(days, series.quantity);
  return days.map((now, i) => {
    const before = days[i - 1];
    const apart = before === undefined ? null : daysBetween(before.day, now.day);
    const change = before === undefined || apart === null ? null : (now.value - before.value) / apart;
    return {
      ...now,
      changePerDay: change,
      relativeChangePerDay:
        change === null || before === undefined || series.quantity === 'temperature' ? null : change / before.value,
      warnings: odd.get(now.day) ?? [],
    };
  });
}

/**
 * What is odd about a reading before it joins the days of its own series: held against the last day before it that is not odd
 * itself, or else the next one after. Nothing where there is neither.
 */
export function warnOfSeries(
  reading: { readonly day: Day; readonly value: number },
  days: readonly DayValue[],
  series: SeriesKey,
): Warning[] {
  const { quantity } = series;
  if (quantity === 'temperature') return days.length < READINGS_ENOUGH ? [] : warnOfTemperature(reading, days);
  const odd = oddSteps(days, quantity);
  const trusted = days.filter(({ day }) => !odd.has(day));
  const against = trusted.findLast(({ day }) => day <= reading.day) ?? trusted[0];
  if (against === undefined || fits(against, reading, quantity, usualRate(days))) return [];
  return [stepWarning(against, reading, quantity)];
}

type Reading = Pick<DayValue, 'day' | 'value'>;

/** Steps of weight or length that are too large. A value that is odd itself is no measure for the next, unless the next agrees with it. */
function oddSteps(days: readonly DayValue[], quantity: 'weight' | 'length'): Map<Day, Warning[]> {
  const odd = new Map<Day, Warning[]>();
  const rate = usualRate(days);
  let trusted: DayValue | undefined;
  let doubted: DayValue | undefined;
  for (const now of days) {
    // Two in a row that agree: the animal, or the scale, is as they say.
    const agreed = doubted !== undefined && fits(doubted, now, quantity, rate);
    if (trusted === undefined || agreed || fits(trusted, now, quantity, rate)) {
      trusted = now;
      doubted = undefined;
    } else {
      odd.set(now.day, [stepWarning(trusted, now, quantity)]);
      doubted = now;
    }
  }
  return odd;
}

function fits(from: Reading, to: Reading, quantity: 'weight' | 'length', rate: number): boolean {
  return logChange(from, to) <= AT_ONCE[quantity] + rate * Math.abs(daysBetween(from.day, to.day));
}

function logChange(from: Reading, to: Reading): number {
  return Math.abs(Math.log(to.value / from.value));
}

/** How fast the logarithm of the value may change a day. */
function usualRate(days: readonly DayValue[]): number {
  const rates = days.slice(1).map((now, i) => {
    const before = days[i] ?? now;
    return logChange(before, now) / Math.max(1, daysBetween(before.day, now.day));
  });
  if (rates.length < STEPS_ENOUGH) return PER_DAY_UNKNOWN;
  return Math.max(TIMES_MEDIAN * median(rates), PER_DAY_LEAST);
}

function stepWarning(against: Reading, now: Reading, quantity: 'weight' | 'length'): Warning {
  const shown = (value: number): string => `${plain(value)} ${UNIT_KEPT[quantity]}`;
  const other = `the ${against.day <= now.day ? 'last' : 'next'} ${quantity} (${shown(against.value)} on ${against.day})`;
  const power = Math.round(Math.log10(now.value / against.value));
  const isSlip = power !== 0 && Math.abs(Math.log10(now.value / against.value) - power) <= SLIP_WIDTH;
  if (isSlip) {
    const times = `${TENS[Math.abs(power)] ?? `10^${Math.abs(power)}`}${power > 0 ? ' times' : ' times less than'}`;
    return {
      code: 'MEASUREMENT_TENFOLD',
      message: `${shown(now.value)} on ${now.day} is about ${times} ${other}. Has a decimal point slipped, or is the unit another one?`,
    };
  }
  return {
    code: 'MEASUREMENT_JUMP',
    message: `${shown(now.value)} on ${now.day} is ${plain(now.value / against.value)} times ${other}: more than its own series leads one to expect. Check the number, and look at the animal.`,
  };
}

const TENS: Readonly<Record<number, string>> = { 1: 'ten', 2: 'a hundred', 3: 'a thousand' };

function oddTemperatures(days: readonly DayValue[]): Map<Day, Warning[]> {
  if (days.length <= READINGS_ENOUGH) return new Map();
  return new Map(days.map((read) => [read.day, warnOfTemperature(read, days)]));
}

function warnOfTemperature({ day, value }: Reading, days: readonly DayValue[]): Warning[] {
  const middle = median(days.map((each) => each.value));
  if (Math.abs(value - middle) <= CELSIUS_APART) return [];
  const message = `${plain(value)} °C on ${day} is far from the ${plain(middle)} °C usual in this series. Check the number and the thermometer.`;
  return [{ code: 'MEASUREMENT_JUMP', message }];
}

/** What a taxon's profile says of the size of grown animals; `min` and `max` are limits, a typical value is none. */
export type SizeBounds = {
  readonly massGrams?:
    { readonly min?: number | undefined; readonly max?: number | undefined; readonly source: string } | undefined;
  readonly lengthMillimetres?:
    { readonly min?: number | undefined; readonly max?: number | undefined; readonly source: string } | undefined;
};

/**
 * Holds a measurement against the taxon. The upper limit holds for every animal; the lower one for those that are surely
 * grown up (`grownUp`). Lengths are given along the measure the source names, so the warning names both.
 */
export function warnOfTaxon(measured: Measurement, bounds: SizeBounds, grownUp: boolean): Warning[] {
  const { quantity, measure, value } = measured;
  if (quantity === 'temperature') return [];
  const bound = quantity === 'weight' ? bounds.massGrams : bounds.lengthMillimetres;
  if (bound === undefined) return [];
  const unit = UNIT_KEPT[quantity];
  const along =
    measure === null ? '' : ` (measured here: ${measure.replaceAll('_', ' ')}; see along what the source measures)`;
  const warn = (code: string, than: string, limit: number): Warning => ({
    code,
    message: `${plain(value)} ${unit} is ${than} the ${plain(limit)} ${unit} known for grown animals of this taxon${along}. Source: ${bound.source}.`,
  });
  if (bound.max !== undefined && value > bound.max) return [warn('MEASUREMENT_ABOVE_TAXON', 'more than', bound.max)];
  if (grownUp && bound.min !== undefined && value < bound.min)
    return [warn('MEASUREMENT_BELOW_TAXON', 'less than', bound.min)];
  return [];
}

/** A number as a person writes it: two decimals at most. */
function plain(value: number): string {
  return String(Number(value.toFixed(2)));
}
