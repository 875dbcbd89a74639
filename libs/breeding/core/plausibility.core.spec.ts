import { describe, expect, it } from '@jest/globals';
import { day, type DaySpan, parseEdtf } from '../../kernel/index.js';
import { type BreedingBounds } from './bounds.core.js';
import {
  clutchWarnings,
  type ClutchToWeigh,
  closerThan,
  incubationWarnings,
  temperatureWarnings,
  youngParentWarnings,
} from './plausibility.core.js';

function span(edtf: string | null): DaySpan {
  if (edtf === null) return { earliest: null, latest: null };
  const read = parseEdtf(edtf);
  if (!read.ok) throw new Error(read.message);
  return read.value;
}

/** An invented animal that lays one egg every 75 to 95 days: common practice, no published source. */
const PRACTICE = 'common practice, no published source';
const SINGLE_EGG: BreedingBounds = {
  clutchSizeMax: { value: 1, source: PRACTICE },
  clutchIntervalDays: { min: 75, max: 95, source: PRACTICE },
  reproduction: { value: 'egg_laying', source: PRACTICE },
  incubationDays: { min: 50, max: 70, source: 'invented bounds' },
  incubationCelsius: { min: 24, max: 30, source: 'invented bounds' },
  maturityDays: { value: 500, min: 400, source: 'invented bounds' },
};

const dam = { sex: 'female' as const, birth: span('2020') };
const codes = (
  more: Partial<Omit<ClutchToWeigh, 'laid' | 'otherClutches'>> & { laid?: string | null; others?: string[] },
) => {
  const { laid = '2026-05-01', others = [], ...rest } = more;
  const clutch = { kind: 'eggs' as const, eggCount: 1, dam, ...rest };
  return clutchWarnings({ ...clutch, laid: span(laid), otherClutches: others.map(span) }, SINGLE_EGG);
};
const short = (laid: string | null, ...others: string[]) => codes({ laid, others }).map(({ code }) => code);

describe('a layer of one egg every 75 to 95 days (common practice, no published source)', () => {
  it('two eggs 30 days apart warn, in either order of recording, with the bound and its source', () => {
    expect(short('2026-05-31', '2026-05-01')).toEqual(['CLUTCH_INTERVAL_SHORT']);
    expect(short('2026-05-01', '2026-05-31')).toEqual(['CLUTCH_INTERVAL_SHORT']);
    const [warning] = codes({ laid: '2026-05-31', others: ['2026-05-01'] });
    expect(warning?.message).toContain('75 days');
    expect(warning?.message).toContain(PRACTICE);
    expect(warning?.message).toContain('That is less');
  });

  it('eggs 80 days apart do not, nor the bound itself, nor a long pause', () => {
    expect(short('2026-07-20', '2026-05-01')).toEqual([]);
    expect(short('2026-07-15', '2026-05-01')).toEqual([]);
    expect(short('2026-07-14', '2026-05-01')).toEqual(['CLUTCH_INTERVAL_SHORT']);
    expect(short('2026-05-01', '2024-05-01')).toEqual([]);
  });

  it('a clutch of two warns, a clutch of one or of unknown size does not', () => {
    expect(codes({ eggCount: 2 }).map(({ code }) => code)).toEqual(['CLUTCH_TOO_LARGE']);
    expect(codes({ eggCount: 2 })[0]?.message).toContain(PRACTICE);
    expect(codes({ eggCount: null })).toEqual([]);
  });

  it('uncertain days that leave it open are said to be open, and dates without an end say nothing', () => {
    expect(codes({ laid: '2026-07', others: ['2026-05'] })[0]?.message).toContain('That may be less');
    expect(short('2026-09', '2026-05')).toEqual([]);
    expect(short(null, '2026-05-01')).toEqual([]);
    expect(short('2026-05-31/..', '2026-05-01')).toEqual([]);
  });
});

it('closer than so many days: yes, no, or possible', () => {
  expect(closerThan(span('2026-05-01'), span('2026-05-31'), 75)).toBe('yes');
  expect(closerThan(span('2026-05'), span('2026-05'), 75)).toBe('yes');
  expect(closerThan(span('2026-05-01'), span('2026-07-20'), 75)).toBe('no');
  expect(closerThan(span('2026-05'), span('2026-07'), 75)).toBe('possible');
  expect(closerThan(span('2026'), span('2026-07'), 75)).toBe('possible');
  expect(closerThan(span(null), span('2026-07'), 75)).toBe('possible');
});

describe('other warnings about a clutch', () => {
  it('a dam recorded as male opens a correction of the sex', () => {
    const [warning] = codes({ dam: { ...dam, sex: 'male' } });
    expect(warning).toMatchObject({ code: 'LAYS_BUT_RECORDED_MALE' });
    expect(warning?.message).toContain('recordFact');
  });

  it('a dam surely younger than the lowest age known, never than the typical one', () => {
    const born = (text: string) => codes({ dam: { ...dam, birth: span(text) } }).map(({ code }) => code);
    expect(born('2025-06-01')).toEqual(['PARENT_TOO_YOUNG']);
    expect(born('2025-02-01')).toEqual([]);
    expect(born('2025')).toEqual([]);
  });

  it('young of a taxon that lays eggs', () =>
    expect(codes({ kind: 'born' }).map(({ code }) => code)).toEqual(['REPRODUCTION_UNUSUAL']));

  it('a taxon nothing is known of warns of nothing', () =>
    expect(
      clutchWarnings({ kind: 'born', eggCount: 99, dam, laid: span('2020'), otherClutches: [span('2020')] }, {}),
    ).toEqual([]));
});

describe('hatching', () => {
  const after = (hatched: string, laid = '2026-03-01') => incubationWarnings(span(laid), span(hatched), SINGLE_EGG);

  it.each([
    ['2026-04-19', 'too soon'],
    ['2026-05-11', 'too late'],
  ])('outside the range warns with its source: %s, %s', (hatched) => {
    expect(after(hatched)).toMatchObject([{ code: 'INCUBATION_OUT_OF_RANGE' }]);
    expect(after(hatched)[0]?.message).toContain('invented bounds');
    expect(after(hatched)[0]?.message).toContain('That is outside');
  });

  it('inside does not; perhaps outside is said so', () => {
    expect(after('2026-04-20')).toEqual([]);
    expect(after('2026-05-10')).toEqual([]);
    expect(after('2026-05')[0]?.message).toContain('That may be outside');
    expect(incubationWarnings(span(null), span('2026-05-01'), SINGLE_EGG)).toEqual([]);
  });
});

it('a temperature outside the known range', () => {
  expect(temperatureWarnings(35, SINGLE_EGG)).toMatchObject([{ code: 'INCUBATION_TEMPERATURE_UNUSUAL' }]);
  expect(temperatureWarnings(28.5, SINGLE_EGG)).toEqual([]);
  expect(temperatureWarnings(null, SINGLE_EGG)).toEqual([]);
});

it('a sire too young is named as such', () => {
  const [warning] = youngParentWarnings(
    'sire',
    { birth: span('2026-01-01') },
    { earliest: day('2026-05-01'), latest: day('2026-05-01') },
    SINGLE_EGG,
  );
  expect(warning?.message).toContain('The sire was at most 120 days old');
});
