import { describe, expect, it } from '@jest/globals';
import { addDays, day, type Day } from './day.js';
import { containsDay, dayRange, isEmptyRange, rangesAbut, rangesOverlap, type DayRange } from './day-range.js';

const start = day('2021-05-01');
const days: Day[] = Array.from({ length: 6 }, (_, i) => addDays(start, i));
/** Every range over six days, open ones and empty ones included. */
const all: DayRange[] = days.flatMap((from) =>
  [...days, null].filter((to) => to === null || to >= from).map((to) => dayRange(from, to)),
);

describe('day range', () => {
  it('includes its first day and excludes its last', () => {
    const range = dayRange(day('2021-05-01'), day('2021-05-03'));
    expect(['2021-04-30', '2021-05-01', '2021-05-02', '2021-05-03'].map((d) => containsDay(range, day(d)))).toEqual([
      false,
      true,
      true,
      false,
    ]);
    expect(containsDay(dayRange(day('2021-05-01'), null), day('9999-12-31'))).toBe(true);
  });

  it('allows an empty range, which contains nothing, and refuses a reversed one', () => {
    const empty = dayRange(day('2021-05-03'), day('2021-05-03'));
    expect(isEmptyRange(empty)).toBe(true);
    expect(containsDay(empty, day('2021-05-03'))).toBe(false);
    expect(isEmptyRange(dayRange(day('2021-05-03'), null))).toBe(false);
    expect(() => dayRange(day('2021-05-03'), day('2021-05-02'))).toThrow(RangeError);
  });

  it('overlaps exactly when some day lies in both (every pair over six days)', () => {
    const later = addDays(start, 100);
    for (const a of all) {
      for (const b of all) {
        const common = [...days, later].some((d) => containsDay(a, d) && containsDay(b, d));
        expect(rangesOverlap(a, b)).toBe(common);
      }
    }
  });

  it('abuts in either order, across an empty range too', () => {
    const first = dayRange(day('2021-05-01'), day('2021-05-03'));
    const passing = dayRange(day('2021-05-03'), day('2021-05-03'));
    const last = dayRange(day('2021-05-03'), null);
    expect(rangesAbut(first, last) && rangesAbut(last, first)).toBe(true);
    expect(rangesAbut(first, passing) && rangesAbut(passing, last)).toBe(true);
    expect(rangesAbut(first, dayRange(day('2021-05-04'), null))).toBe(false);
    expect(rangesAbut(last, dayRange(day('2021-05-04'), null))).toBe(false);
  });
});
