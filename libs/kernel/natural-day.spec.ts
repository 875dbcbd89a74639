import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, day } from './day.js';
import { parseEdtf } from './edtf.js';
import { dayFromAge, dayFromFinding } from './natural-day.js';
import { daysApart, shift } from './span-days.js';

const MAY_3 = day('2026-05-03');

describe('about 75 days old on 3 May', () => {
  it('without a width is one day, flagged as approximate', () => {
    expect(dayFromAge({ aboutDaysOld: 75, plusMinusDays: null, on: MAY_3 })).toEqual({
      edtf: '2026-02-17~',
      earliest: '2026-02-17',
      latest: '2026-02-17',
      level: 1,
      approximate: true,
      uncertain: false,
    });
  });

  it('with a width of five days reaches five days to both sides', () => {
    expect(dayFromAge({ aboutDaysOld: 75, plusMinusDays: 5, on: MAY_3 })).toMatchObject({
      edtf: '2026-02-12/2026-02-22',
      earliest: '2026-02-12',
      latest: '2026-02-22',
      approximate: false,
    });
  });

  it('was born no later than the day on which it was seen', () => {
    expect(dayFromAge({ aboutDaysOld: 3, plusMinusDays: 10, on: MAY_3 }).edtf).toBe('2026-04-20/2026-05-03');
  });

  it('a width of nothing is an exact day', () => {
    expect(dayFromAge({ aboutDaysOld: 0, plusMinusDays: 0, on: MAY_3 })).toMatchObject({
      edtf: '2026-05-03',
      level: 0,
    });
  });
});

describe('found today, laid at most nine days ago', () => {
  it('is the span up to the day of finding', () => {
    expect(dayFromFinding({ foundOn: MAY_3, atMostDaysBefore: 9 }).edtf).toBe('2026-04-24/2026-05-03');
    expect(dayFromFinding({ foundOn: MAY_3, atMostDaysBefore: 0 }).edtf).toBe('2026-05-03');
  });
});

const days = fc.integer({ min: 0, max: 5000 });

it('what is made of a sentence reads back from its EDTF text as the same day', () => {
  const width = fc.option(fc.integer({ min: 0, max: 200 }), { nil: null });
  fc.assert(
    fc.property(days, width, days, (aboutDaysOld, plusMinusDays, offset) => {
      const on = addDays(MAY_3, -offset);
      for (const made of [
        dayFromAge({ aboutDaysOld, plusMinusDays, on }),
        dayFromFinding({ foundOn: on, atMostDaysBefore: aboutDaysOld }),
      ]) {
        const read = parseEdtf(made.edtf);
        expect(read.ok ? read.value : read.message).toEqual(made);
        expect(made.latest !== null && made.latest <= on).toBe(true);
      }
    }),
  );
});

it('days between two spans: fewest and most, open where an end is open', () => {
  const a = { earliest: day('2026-01-01'), latest: day('2026-01-10') };
  expect(daysApart(a, shift(a, 80))).toEqual({ fewest: 71, most: 89 });
  expect(daysApart({ ...a, earliest: null }, a)).toEqual({ fewest: -9, most: null });
});
