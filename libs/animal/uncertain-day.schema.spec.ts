import { describe, expect, it } from '@jest/globals';
import { uncertainDay } from './uncertain-day.schema.js';

const edtf = (said: unknown) => {
  const read = uncertainDay.safeParse(said);
  return read.success ? read.data.edtf : read.error.issues.map(({ path, message }) => [path.join('.'), message]);
};

describe('a date as a keeper says it', () => {
  it.each([
    ['2026-05~', '2026-05~'],
    [{ edtf: '2026-05~' }, '2026-05~'],
    [{ aboutDaysOld: 75, on: '2026-05-03' }, '2026-02-17~'],
    [{ aboutDaysOld: 75, plusMinusDays: 5, on: '2026-05-03' }, '2026-02-12/2026-02-22'],
    [{ aboutDaysOld: 75, plusMinusDays: null, on: '2026-05-03' }, '2026-02-17~'],
    [{ foundOn: '2026-05-03', atMostDaysBefore: 9 }, '2026-04-24/2026-05-03'],
  ])('%j is %s', (said, expected) => expect(edtf(said)).toBe(expected));

  it.each([
    [{ aboutDaysOld: -1, on: '2026-05-03' }, 'aboutDaysOld'],
    [{ aboutDaysOld: 7.5, on: '2026-05-03' }, 'aboutDaysOld'],
    [{ aboutDaysOld: 75, on: '2026-02-29' }, 'on'],
    [{ aboutDaysOld: 75 }, 'on'],
    [{ foundOn: '2026-05-03', atMostDaysBefore: 999_999 }, 'atMostDaysBefore'],
    [{ foundOn: '2026-05-03' }, 'atMostDaysBefore'],
    [{ foundOn: '2026-05-03', atMostDaysBefore: 9, on: '2026-05-03' }, ''],
    [{ sometime: 'in May' }, ''],
    [{ edtf: 'in May' }, ''],
    [{ edtf: '2026-05', on: '2026-05-03' }, ''],
    [75, ''],
  ])('%j is refused at "%s" with the way to write it', (said, path) => {
    const problems = edtf(said);
    expect(problems).toHaveLength(1);
    expect(problems[0]).toEqual([path, expect.stringContaining(' | ')]);
  });
});

it.each([
  { foundOn: '0001-01-01', atMostDaysBefore: 1 },
  { aboutDaysOld: 740_000 - 630_001, on: '0300-01-01' },
  { aboutDaysOld: 1, plusMinusDays: 400, on: '0002-01-01' },
])('days before the year 1 are refused, not thrown: %j', (said) => {
  const read = uncertainDay.safeParse(said);
  expect(read.error?.issues.map(({ message }) => message)).toEqual([expect.stringContaining(' | ')]);
});

it('the last day there is can be near', () => {
  expect(uncertainDay.parse({ aboutDaysOld: 1, plusMinusDays: 9, on: '9999-12-31' }).latest).toBe('9999-12-31');
});
