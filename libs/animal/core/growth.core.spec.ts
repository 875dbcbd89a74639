import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, day } from '../../kernel/index.js';
import { growthOf, warnOfSeries, warnOfTaxon } from './growth.core.js';
import { type DayValue, median, readMeasurement, seriesOnDays } from './measurement.core.js';
import { type Fact } from './fact.core.js';

const WEIGHT = { quantity: 'weight', measure: null, of: null } as const;
const on = (text: string, value: number): DayValue => ({ day: day(text), value, count: 1 });
const codes = (points: readonly { warnings: readonly { code: string }[] }[]): string[] =>
  points.map((point) => point.warnings.map(({ code }) => code).join());

describe('readMeasurement', () => {
  const written = { quantity: 'weight', value: 0.0425, unit: 'kg', measure: null, of: null } as const;

  it('keeps grams, millimetres and degrees without the noise of fractions', () => {
    expect(readMeasurement(written)).toEqual({ ok: true, fact: { kind: 'weight', body: { grams: 42.5 } } });
    const length = { quantity: 'length', value: 8.43, unit: 'cm', measure: 'plastron', of: null } as const;
    expect(readMeasurement(length)).toEqual({
      ok: true,
      fact: { kind: 'length', body: { measure: 'plastron', millimetres: 84.3 } },
    });
    const warm = { quantity: 'temperature', value: 31.2, unit: 'celsius', measure: null, of: null } as const;
    expect(readMeasurement(warm)).toEqual({
      ok: true,
      fact: { kind: 'temperature', body: { celsius: 31.2, of: 'animal' } },
    });
  });

  it('names the field that does not belong to the quantity', () => {
    expect(readMeasurement({ ...written, unit: 'mm' })).toMatchObject({
      ok: false,
      field: 'unit',
      remedy: 'Write g or kg.',
    });
    expect(readMeasurement({ ...written, measure: 'tail' })).toMatchObject({ ok: false, field: 'measure' });
    expect(readMeasurement({ ...written, of: 'animal' })).toMatchObject({ ok: false, field: 'of' });
    expect(readMeasurement({ ...written, quantity: 'length', unit: 'mm' })).toMatchObject({
      ok: false,
      field: 'measure',
    });
  });
});

describe('seriesOnDays', () => {
  const fact = (id: string, grams: number, earliest: string, latest = earliest): Fact => ({
    kind: 'weight',
    body: { grams },
    id,
    when: { edtf: `${earliest}/${latest}`, earliest: day(earliest), latest: day(latest) },
    recordedAt: new Date('2026-06-01'),
    supersededAt: null,
    keeperId: 'k',
  });

  it('puts days in order, takes the median of a day, and counts what has no exact day', () => {
    const facts = [
      fact('c', 44, '2026-05-08'),
      fact('a', 41, '2026-05-01'),
      fact('b', 43, '2026-05-01'),
      fact('d', 50, '2026-05-01', '2026-05-31'),
    ];
    expect(seriesOnDays(facts, WEIGHT)).toEqual({
      days: [
        { day: '2026-05-01', value: 42, count: 2 },
        { day: '2026-05-08', value: 44, count: 1 },
      ],
      withoutDay: 1,
    });
  });
});

describe('growthOf', () => {
  it('gives the change a day', () => {
    const [first, second] = growthOf([on('2026-05-01', 40), on('2026-05-11', 44)], WEIGHT);
    expect(first).toMatchObject({ changePerDay: null, relativeChangePerDay: null });
    expect(second?.changePerDay).toBeCloseTo(0.4, 12);
    expect(second?.relativeChangePerDay).toBeCloseTo(0.01, 12);
  });

  it('doubts a slipped point and not the right weight after it', () => {
    const days = [on('2026-05-01', 42.5), on('2026-05-08', 425), on('2026-05-15', 43.1)];
    expect(codes(growthOf(days, WEIGHT))).toEqual(['', 'MEASUREMENT_TENFOLD', '']);
    expect(growthOf(days, WEIGHT)[1]?.warnings[0]?.message).toContain(
      'about ten times the last weight (42.5 g on 2026-05-01)',
    );
  });

  it('believes a new level once two days agree', () => {
    const days = [on('2026-05-01', 40), on('2026-05-02', 80), on('2026-05-03', 81), on('2026-05-04', 82)];
    expect(codes(growthOf(days, WEIGHT))).toEqual(['', 'MEASUREMENT_JUMP', '', '']);
  });

  it('lets a young animal grow tenfold in two years, and a meal make it heavier', () => {
    expect(codes(growthOf([on('2024-05-01', 20), on('2026-05-01', 200)], WEIGHT))).toEqual(['', '']);
    expect(codes(growthOf([on('2026-05-01', 40), on('2026-05-02', 51)], WEIGHT))).toEqual(['', '']);
  });

  it('never doubts an animal that grows evenly, however fast or slow', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.985, max: 1.01, noNaN: true }),
        fc.integer({ min: 1, max: 30 }),
        fc.integer({ min: 2, max: 40 }),
        (perDay, step, count) => {
          const days = Array.from({ length: count }, (_, i) => ({
            day: addDays(day('2026-01-01'), i * step),
            value: 1000 * perDay ** (i * step),
            count: 1,
          }));
          expect(codes(growthOf(days, WEIGHT)).join('')).toBe('');
        },
      ),
    );
  });

  it('finds one slipped point in any steady series, wherever it stands after the first', () => {
    fc.assert(
      fc.property(
        fc
          .integer({ min: 3, max: 30 })
          .chain((count) => fc.tuple(fc.constant(count), fc.integer({ min: 1, max: count - 1 }))),
        fc.array(fc.double({ min: -0.05, max: 0.05, noNaN: true }), { minLength: 30, maxLength: 30 }),
        fc.constantFrom(10, 0.1, 100),
        ([count, wrong], noise, slip) => {
          const days = Array.from({ length: count }, (_, i) => ({
            day: addDays(day('2026-01-01'), i * 7),
            value: 500 * (1 + (noise[i] ?? 0)) * (i === wrong ? slip : 1),
            count: 1,
          }));
          const found = codes(growthOf(days, WEIGHT));
          expect(found[wrong]).toBe('MEASUREMENT_TENFOLD');
          expect(found.filter((code) => code !== '')).toHaveLength(1);
        },
      ),
    );
  });
});

describe('warnOfSeries', () => {
  it('holds a reading against the last day that is not odd itself', () => {
    const days = [on('2026-05-01', 42.5), on('2026-05-08', 425)];
    expect(warnOfSeries({ day: day('2026-05-15'), value: 43 }, days, WEIGHT)).toEqual([]);
    expect(codes([{ warnings: warnOfSeries({ day: day('2026-05-15'), value: 4.3 }, days, WEIGHT) }])).toEqual([
      'MEASUREMENT_TENFOLD',
    ]);
    expect(warnOfSeries({ day: day('2026-05-15'), value: 43 }, [], WEIGHT)).toEqual([]);
  });

  it('holds one written later for an earlier day against the next', () => {
    const [warning] = warnOfSeries({ day: day('2026-04-24'), value: 420 }, [on('2026-05-01', 42.5)], WEIGHT);
    expect(warning?.message).toContain('about ten times the next weight (42.5 g on 2026-05-01)');
  });

  it('asks about a temperature far from the median, once there are four', () => {
    const series = { quantity: 'temperature', measure: null, of: 'animal' } as const;
    const days = ['01', '02', '03', '04'].map((each, i) => on(`2026-05-${each}`, 29 + i / 2));
    expect(warnOfSeries({ day: day('2026-05-05'), value: 85 }, days, series)).toHaveLength(1);
    expect(warnOfSeries({ day: day('2026-05-05'), value: 33 }, days, series)).toEqual([]);
    expect(warnOfSeries({ day: day('2026-05-05'), value: 85 }, days.slice(1), series)).toEqual([]);
  });
});

describe('warnOfTaxon', () => {
  const bounds = { massGrams: { min: 900, max: 1800, source: 'Invented 2001' } };
  const weighing = (value: number) => ({ ...WEIGHT, value });

  it('names limit and source, and the lower one only for the grown', () => {
    expect(warnOfTaxon(weighing(2000), bounds, false)).toEqual([
      {
        code: 'MEASUREMENT_ABOVE_TAXON',
        message: '2000 g is more than the 1800 g known for grown animals of this taxon. Source: Invented 2001.',
      },
    ]);
    expect(warnOfTaxon(weighing(40), bounds, false)).toEqual([]);
    expect(warnOfTaxon(weighing(40), bounds, true).map(({ code }) => code)).toEqual(['MEASUREMENT_BELOW_TAXON']);
    expect(warnOfTaxon(weighing(2000), {}, true)).toEqual([]);
  });
});

it('the median of an even number lies between the two in the middle', () => {
  expect(median([4, 1, 3, 10])).toBe(3.5);
  expect(() => median([])).toThrow(RangeError);
});
