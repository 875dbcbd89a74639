import { compareDays, type Day } from './day.js';

/**
 * Days from `from` (included) to `to` (excluded): [from, to). `to` null = still open.
 * `from` equal to `to` is allowed and holds no day: an animal received and passed on within one day.
 */
export type DayRange = { readonly from: Day; readonly to: Day | null };

/** A range of days. Throws RangeError when `to` lies before `from`. */
export function dayRange(from: Day, to: Day | null): DayRange {
  if (to !== null && compareDays(to, from) < 0) throw new RangeError(`Range ends (${to}) before it starts (${from})`);
  return { from, to };
}

/** Whether the range holds no day at all. */
export function isEmptyRange(range: DayRange): boolean {
  return range.from === range.to;
}

/** Whether the day lies in the range. */
export function containsDay(range: DayRange, day: Day): boolean {
  return range.from <= day && (range.to === null || day < range.to);
}

/** Whether the two ranges have a day in common. An empty range overlaps nothing (as in PostgreSQL `&&`). */
export function rangesOverlap(a: DayRange, b: DayRange): boolean {
  if (isEmptyRange(a) || isEmptyRange(b)) return false;
  return (b.to === null || a.from < b.to) && (a.to === null || b.from < a.to);
}

/**
 * Whether one range ends where the other starts, in either order. Empty ranges count by their bounds, unlike in
 * PostgreSQL, so that a chain of holders stays unbroken across one who held for less than a day.
 */
export function rangesAbut(a: DayRange, b: DayRange): boolean {
  return a.to === b.from || b.to === a.from;
}
