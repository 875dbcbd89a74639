import { type Day, daysBetween, type DaySpan } from '../../kernel/index.js';

export { daysApart, daysInWords, shift } from '../../kernel/index.js';

/**
 * Days within which an entry counts as recorded near the time. A choice of this registry: common practice, no published
 * source. What was written down later is not doubted, it is weaker.
 */
export const NEAR_DAYS = 31;

/** Was it written down within a month of the last day on which it can have happened? No when that day is open. */
export function recordedNear(recordedOn: Day, when: DaySpan): boolean {
  return when.latest !== null && daysBetween(when.latest, recordedOn) <= NEAR_DAYS;
}
