import { type Day } from '../../kernel/index.js';
import { type Fact, type FactBody, type LengthMeasure, type TemperaturePlace } from './fact.core.js';

/** What is measured. Weights are kept in grams, lengths in millimetres, temperatures in degrees Celsius. */
export const QUANTITIES = ['weight', 'length', 'temperature'] as const;
export type Quantity = (typeof QUANTITIES)[number];

/** Units a measurement can be written in. */
export const UNITS = ['g', 'kg', 'mm', 'cm', 'm', 'celsius'] as const;
export type Unit = (typeof UNITS)[number];

/** Of each unit the quantity it belongs to, and how many of the unit kept it is. */
const UNIT_SIZES: Readonly<Record<Unit, { readonly quantity: Quantity; readonly size: number }>> = {
  g: { quantity: 'weight', size: 1 },
  kg: { quantity: 'weight', size: 1000 },
  mm: { quantity: 'length', size: 1 },
  cm: { quantity: 'length', size: 10 },
  m: { quantity: 'length', size: 1000 },
  celsius: { quantity: 'temperature', size: 1 },
};

/** The unit in which a quantity is kept and shown. */
export const UNIT_KEPT = { weight: 'g', length: 'mm', temperature: 'celsius' } as const satisfies Record<
  Quantity,
  Unit
>;

/** A measurement as written. */
export type WrittenMeasurement = {
  readonly quantity: Quantity;
  readonly value: number;
  readonly unit: Unit;
  /** Of a length, and only of one. */
  readonly measure: LengthMeasure | null;
  /** Of a temperature, and only of one; null = the animal. */
  readonly of: TemperaturePlace | null;
};

/** The fact a written measurement makes, or which of its fields does not fit and how to mend it. */
export function readMeasurement(
  written: WrittenMeasurement,
):
  | { readonly ok: true; readonly fact: FactBody }
  | { readonly ok: false; readonly field: string; readonly message: string; readonly remedy: string } {
  const { quantity, unit, measure, of } = written;
  const wrong = (field: string, message: string, remedy: string) => ({ ok: false as const, field, message, remedy });
  if (UNIT_SIZES[unit].quantity !== quantity) {
    const units = UNITS.filter((each) => UNIT_SIZES[each].quantity === quantity).join(' or ');
    return wrong('unit', `A ${quantity} is not measured in ${unit}.`, `Write ${units}.`);
  }
  if (quantity === 'length' && measure === null)
    return wrong('measure', 'Along what was it measured?', 'Name the measure, for example carapace_straight.');
  if (quantity !== 'length' && measure !== null)
    return wrong('measure', 'Only a length has a measure.', 'Leave it out.');
  if (quantity !== 'temperature' && of !== null)
    return wrong('of', 'Only a temperature says what it was read from.', 'Leave it out.');
  // 0.0425 kg is 42.5 g, not 42.50000000000001.
  const value = Number((written.value * UNIT_SIZES[unit].size).toPrecision(12));
  if (quantity === 'weight') return { ok: true, fact: { kind: 'weight', body: { grams: value } } };
  if (quantity === 'length' && measure !== null)
    return { ok: true, fact: { kind: 'length', body: { measure, millimetres: value } } };
  return { ok: true, fact: { kind: 'temperature', body: { celsius: value, of: of ?? 'animal' } } };
}

/** What is measured, and along what or from what: readings of one series can be held against each other. */
export type SeriesKey = {
  readonly quantity: Quantity;
  readonly measure: LengthMeasure | null;
  readonly of: TemperaturePlace | null;
};

/** One measurement in the unit kept. */
export type Measurement = SeriesKey & { readonly value: number };

/** What a fact measures, or null for one that measures nothing. */
export function measurementOf(fact: FactBody): Measurement | null {
  if (fact.kind === 'weight') return { quantity: 'weight', measure: null, of: null, value: fact.body.grams };
  if (fact.kind === 'length')
    return { quantity: 'length', measure: fact.body.measure, of: null, value: fact.body.millimetres };
  if (fact.kind === 'temperature')
    return { quantity: 'temperature', measure: null, of: fact.body.of, value: fact.body.celsius };
  return null;
}

/** Whether a measurement belongs to a series. */
export function belongsTo(measured: Measurement, series: SeriesKey): boolean {
  return measured.quantity === series.quantity && measured.measure === series.measure && measured.of === series.of;
}

/** What was measured on one day, how often: the median where there are several. */
export type DayValue = { readonly day: Day; readonly value: number; readonly count: number };

/** The series of an animal by days, earliest first; measurements without an exact day cannot take part and are counted. */
export function seriesOnDays(
  facts: readonly Fact[],
  series: SeriesKey,
): { readonly days: readonly DayValue[]; readonly withoutDay: number } {
  const byDay = new Map<Day, number[]>();
  let withoutDay = 0;
  for (const fact of facts) {
    const measured = measurementOf(fact);
    if (measured === null || !belongsTo(measured, series)) continue;
    const day = fact.when?.earliest ?? null;
    if (day === null || day !== fact.when?.latest) withoutDay += 1;
    else byDay.set(day, [...(byDay.get(day) ?? []), measured.value]);
  }
  const days = [...byDay]
    .map(([day, values]) => ({ day, value: median(values), count: values.length }))
    .toSorted((a, b) => a.day.localeCompare(b.day));
  return { days, withoutDay };
}

/** The middle value; of an even number the mean of the two in the middle. Throws RangeError on none. */
export function median(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  const upper = sorted[Math.floor(sorted.length / 2)];
  const lower = sorted[Math.floor((sorted.length - 1) / 2)];
  if (upper === undefined || lower === undefined) throw new RangeError('The median of nothing was asked for.');
  return (lower + upper) / 2;
}
