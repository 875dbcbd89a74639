import { shiftDay, daysBetween, type Day } from './day.js';
import type { DaySpan } from './three-valued.js';

/** Both ends moved by whole days; an open end stays open. */
export function shift({ earliest, latest }: DaySpan, days: number): DaySpan {
  const move = (end: Day | null): Day | null => (end === null ? null : shiftDay(end, days));
  return { earliest: move(earliest), latest: move(latest) };
}

/** Fewest and most days from one event to another; null = no limit is known. */
export function daysApart(from: DaySpan, to: DaySpan): { fewest: number | null; most: number | null } {
  return {
    fewest: from.latest === null || to.earliest === null ? null : daysBetween(from.latest, to.earliest),
    most: from.earliest === null || to.latest === null ? null : daysBetween(from.earliest, to.latest),
  };
}

/** A span of days in words: "on 2024-01-10", "between 2024-01-01 and 2024-01-31", "not after 2024-01-31", "on an unknown day". */
export function daysInWords({ earliest, latest }: DaySpan): string {
  if (earliest === null && latest === null) return 'on an unknown day';
  if (earliest === latest) return `on ${earliest}`;
  if (earliest === null) return `not after ${latest}`;
  if (latest === null) return `not before ${earliest}`;
  return `between ${earliest} and ${latest}`;
}
