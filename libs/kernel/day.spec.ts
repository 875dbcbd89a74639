import { describe, expect, it } from '@jest/globals';
import { addDays, compareDays, day, dayOf, daysBetween, daysInMonth, parseDay, shiftDay } from './day.js';

/** Leap years counted by the Gregorian rule, independently of Date: every 4th, not every 100th, but every 400th. */
const leap = (year: number): boolean => year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);

describe('day', () => {
  it.each(['2021-05-03', '2020-02-29', '2000-02-29', '0001-01-01', '9999-12-31'])('accepts %s', (text) => {
    expect(parseDay(text)).toBe(text);
  });

  it.each([
    '2021-02-29',
    '1900-02-29',
    '2021-04-31',
    '2021-13-01',
    '2021-00-10',
    '2021-05-00',
    '0000-01-01',
    '2021-5-3',
    '20210503',
    '2021-05-03T00:00:00Z',
    ' 2021-05-03',
    '-001-05-03',
    '12021-05-03',
    '',
  ])('rejects %j', (text) => {
    expect(parseDay(text)).toBeNull();
    expect(() => day(text)).toThrow(RangeError);
  });

  it('walks every day of 1896 to 2104 by the Gregorian rule', () => {
    let current = day('1896-01-01');
    for (let year = 1896; year <= 2104; year++) {
      for (let month = 1; month <= 12; month++) {
        const length = month === 2 ? (leap(year) ? 29 : 28) : [4, 6, 9, 11].includes(month) ? 30 : 31;
        expect(daysInMonth(year, month)).toBe(length);
        expect(current).toBe(`${year}-${String(month).padStart(2, '0')}-01`);
        expect(addDays(current, length - 1).slice(8)).toBe(String(length));
        current = addDays(current, length);
      }
    }
  });

  it('counts days both ways', () => {
    expect(daysBetween(day('2020-02-28'), day('2020-03-01'))).toBe(2);
    expect(daysBetween(day('2021-03-01'), day('2021-02-28'))).toBe(-1);
    expect(daysBetween(day('0001-01-01'), day('9999-12-31'))).toBe(3_652_058); // 9999 * 365 + 2424 leap days - 1
    expect(addDays(day('0001-01-01'), 3_652_058)).toBe('9999-12-31');
    expect(addDays(day('2021-03-01'), -1)).toBe('2021-02-28');
  });

  it('refuses to leave the years 0001 to 9999, and fractions', () => {
    expect(() => addDays(day('9999-12-31'), 1)).toThrow(RangeError);
    expect(() => addDays(day('0001-01-01'), -1)).toThrow(RangeError);
    expect(() => addDays(day('2021-01-01'), 0.5)).toThrow(RangeError);
    expect(() => addDays(day('2021-01-01'), 1e12)).toThrow(RangeError);
    expect(() => daysInMonth(2021, 13)).toThrow(RangeError);
  });

  it('orders days', () => {
    const days = [day('2021-10-01'), day('0999-12-31'), day('2021-09-30')];
    expect([...days].sort(compareDays)).toEqual(['0999-12-31', '2021-09-30', '2021-10-01']);
    expect(compareDays(day('2021-10-01'), day('2021-10-01'))).toBe(0);
  });

  it('takes the UTC day of an instant', () => {
    expect(dayOf(new Date('2021-05-03T23:59:59.999Z'))).toBe('2021-05-03');
    expect(dayOf(new Date('2021-05-03T23:30:00-02:00'))).toBe('2021-05-04');
    expect(() => dayOf(new Date(Number.NaN))).toThrow(RangeError);
    expect(() => dayOf(new Date('+012021-05-03T00:00:00Z'))).toThrow(RangeError);
  });
});

it('shiftDay moves by days and stops where days end', () => {
  expect(shiftDay(day('2021-03-01'), -1)).toBe('2021-02-28');
  expect(shiftDay(day('0001-01-05'), -4)).toBe('0001-01-01');
  expect(shiftDay(day('0001-01-05'), -5)).toBe('0001-01-01');
  expect(shiftDay(day('9999-12-30'), 1)).toBe('9999-12-31');
  expect(shiftDay(day('9999-12-30'), 4_000_000)).toBe('9999-12-31');
});
