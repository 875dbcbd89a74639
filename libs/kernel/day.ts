declare const dayBrand: unique symbol;

/** A calendar day as ISO text, `2021-05-03`: proleptic Gregorian, years 0001 to 9999. Made by `parseDay`, `day`, `dayOf`. */
export type Day = string & { readonly [dayBrand]: true };

const MS_PER_DAY = 86_400_000;

function isDay(text: string): text is Day {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(text) || text.startsWith('0000')) return false;
  const ms = Date.parse(`${text}T00:00:00Z`);
  // Engines may roll 29 February of a common year over to 1 March; the round trip shows it.
  return !Number.isNaN(ms) && new Date(ms).toISOString().startsWith(text);
}

/** Reads a day from text; null when it is not written `YYYY-MM-DD` or no such day exists (2021-02-29, 2021-13-01). */
export function parseDay(text: string): Day | null {
  return isDay(text) ? text : null;
}

/** A day from text known to be good (a literal, a date column). Throws RangeError otherwise; for user input use `parseDay`. */
export function day(text: string): Day {
  if (!isDay(text)) throw new RangeError(`Not a calendar day: ${text}`);
  return text;
}

/** The UTC calendar day of an instant. Throws RangeError for an invalid Date or a year outside 0001 to 9999. */
export function dayOf(instant: Date): Day {
  return day(Number.isNaN(instant.getTime()) ? 'invalid date' : instant.toISOString().slice(0, 10));
}

/** The day `count` whole days later (earlier when negative). Throws RangeError when the result leaves 0001 to 9999. */
export function addDays(from: Day, count: number): Day {
  if (!Number.isInteger(count)) throw new RangeError(`Not a whole number of days: ${count}`);
  return dayOf(new Date(Date.parse(from) + count * MS_PER_DAY));
}

/** As `addDays`, but stops at the first and the last day there is: for windows around days that others wrote. */
export function shiftDay(from: Day, count: number): Day {
  const [first, last] = [day('0001-01-01'), day('9999-12-31')];
  if (count < daysBetween(from, first)) return first;
  return count > daysBetween(from, last) ? last : addDays(from, count);
}

/** Whole days from `from` to `to`: 0 for the same day, negative when `to` is earlier. */
export function daysBetween(from: Day, to: Day): number {
  return (Date.parse(to) - Date.parse(from)) / MS_PER_DAY;
}

/** Sort order of days: negative when `a` is earlier, 0 when equal, positive when later. */
export function compareDays(a: Day, b: Day): -1 | 0 | 1 {
  // Four-digit years make the order of the text the order of time.
  return a < b ? -1 : a > b ? 1 : 0;
}

/** Number of days in a month; `year` 1 to 9999, `month` 1 to 12. Throws RangeError outside. */
export function daysInMonth(year: number, month: number): number {
  const prefix = `${String(year).padStart(4, '0')}-${String(month).padStart(2, '0')}`;
  for (const last of [31, 30, 29, 28]) {
    if (isDay(`${prefix}-${last}`)) return last;
  }
  throw new RangeError(`Not a month: ${prefix}`);
}
