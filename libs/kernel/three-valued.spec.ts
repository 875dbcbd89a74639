import { describe, expect, it } from '@jest/globals';
import { addDays, day, type Day } from './day.js';
import { dayRange, containsDay } from './day-range.js';
import { parseEdtf } from './edtf.js';
import { and, isBefore, isOnOrBefore, isWithin, not, or, overlaps, type Answer, type DaySpan } from './three-valued.js';

const DAYS: Day[] = Array.from({ length: 5 }, (_, i) => addDays(day('2021-05-01'), i));
/** Days beyond the spans on both sides stand for an open end. */
const BEYOND = { before: addDays(day('2021-05-01'), -9), after: addDays(day('2021-05-01'), 9) };

/** Every span over five days, with each end open as well. */
const SPANS: DaySpan[] = [null, ...DAYS].flatMap((earliest) =>
  [null, ...DAYS]
    .filter((latest) => earliest === null || latest === null || earliest <= latest)
    .map((latest) => ({ earliest, latest })),
);

function possibleDays(span: DaySpan): Day[] {
  return [BEYOND.before, ...DAYS, BEYOND.after].filter(
    (d) => (span.earliest === null || d >= span.earliest) && (span.latest === null || d <= span.latest),
  );
}

/** The answer by trying every pair of days the spans allow. */
function byTrial(a: DaySpan, b: DaySpan, holds: (x: Day, y: Day) => boolean): Answer {
  const results = possibleDays(a).flatMap((x) => possibleDays(b).map((y) => holds(x, y)));
  return results.every((r) => r) ? 'yes' : results.some((r) => r) ? 'possible' : 'no';
}

function span(text: string): DaySpan {
  const result = parseEdtf(text);
  if (!result.ok) throw new Error(result.message);
  return result.value;
}

describe('three-valued answers', () => {
  it('agrees with trying every pair of days, for all bounded spans', () => {
    const bounded = SPANS.filter((s) => s.earliest !== null && s.latest !== null);
    expect(bounded).toHaveLength(15);
    for (const a of bounded) {
      for (const b of bounded) {
        expect(isBefore(a, b)).toBe(byTrial(a, b, (x, y) => x < y));
        expect(isOnOrBefore(a, b)).toBe(byTrial(a, b, (x, y) => x <= y));
        expect(overlaps(a, b)).toBe(byTrial(a, b, (x, y) => x === y));
      }
    }
  });

  it('agrees with trying every pair for open spans where one side is open on one end', () => {
    for (const a of SPANS) {
      for (const b of SPANS.filter((s) => s.earliest !== null && s.latest !== null)) {
        expect(isBefore(a, b)).toBe(byTrial(a, b, (x, y) => x < y));
        expect(isOnOrBefore(b, a)).toBe(byTrial(b, a, (x, y) => x <= y));
      }
    }
  });

  it('agrees with trying every day of a range', () => {
    for (const from of DAYS) {
      for (const to of [null, ...DAYS].filter((d) => d === null || d >= from)) {
        const range = dayRange(from, to);
        for (const a of SPANS) {
          expect(isWithin(a, range)).toBe(byTrial(a, a, (x) => containsDay(range, x)));
        }
      }
    }
  });

  it('never is sure about an end that is open', () => {
    expect(isBefore(span('2021-05-03/..'), span('2030'))).toBe('possible');
    expect(isBefore(span('../2021-05-03'), span('2030'))).toBe('yes');
    expect(isBefore(span('2030'), span('../2021'))).toBe('no');
    expect(overlaps(span('2021-05-03/..'), span('2030'))).toBe('possible');
    expect(overlaps(span('2021-05-03/..'), span('2020'))).toBe('no');
  });

  it('gives ~ no width', () => {
    expect(isBefore(span('2021-05~'), span('2021-06'))).toBe('yes');
    expect(overlaps(span('2021-05-03~'), span('2021-05-03'))).toBe('yes');
    expect(overlaps(span('2021-05'), span('2021-05'))).toBe('possible');
  });

  it('combines by the tables of Kleene (strong three-valued logic)', () => {
    const order: Answer[] = ['no', 'possible', 'yes'];
    for (const [i, a] of order.entries()) {
      expect(not(a)).toBe(order[2 - i]);
      for (const [j, b] of order.entries()) {
        expect(and(a, b)).toBe(order[Math.min(i, j)]);
        expect(or(a, b)).toBe(order[Math.max(i, j)]);
      }
    }
    expect([and(), or()]).toEqual(['yes', 'no']);
  });
});
