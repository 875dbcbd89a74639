import type { Day } from './day.js';
import type { DayRange } from './day-range.js';

/** Answer of a rule on uncertain dates: certain, excluded, or possible (the dates do not decide it). */
export type Answer = 'yes' | 'no' | 'possible';

/** The part of an `UncertainDay` that the answers depend on; null = open. `~` and `?` have no width and change nothing. */
export type DaySpan = { readonly earliest: Day | null; readonly latest: Day | null };

function answer(yes: boolean, no: boolean): Answer {
  return yes ? 'yes' : no ? 'no' : 'possible';
}

/** Whether `a` surely lies before `b`: an open end can never be sure. */
function surelyBefore(a: DaySpan, b: DaySpan): boolean {
  return a.latest !== null && b.earliest !== null && a.latest < b.earliest;
}

function surelyOnOrBefore(a: DaySpan, b: DaySpan): boolean {
  return a.latest !== null && b.earliest !== null && a.latest <= b.earliest;
}

/** Did `a` happen on an earlier day than `b`? */
export function isBefore(a: DaySpan, b: DaySpan): Answer {
  return answer(surelyBefore(a, b), surelyOnOrBefore(b, a));
}

/** Did `a` happen on an earlier day than `b`, or on the same day? */
export function isOnOrBefore(a: DaySpan, b: DaySpan): Answer {
  return answer(surelyOnOrBefore(a, b), surelyBefore(b, a));
}

/** Did `a` and `b` happen on one and the same day? Yes only when both are the same exact day; no when their spans are apart. */
export function overlaps(a: DaySpan, b: DaySpan): Answer {
  const exact = a.earliest !== null && a.earliest === a.latest;
  const same = exact && a.earliest === b.earliest && a.latest === b.latest;
  return answer(same, surelyBefore(a, b) || surelyBefore(b, a));
}

/** Did `a` happen on a day of the range [from, to)? Never within an empty range. */
export function isWithin(a: DaySpan, range: DayRange): Answer {
  const notBefore = a.earliest !== null && a.earliest >= range.from;
  const notAfter = range.to === null || (a.latest !== null && a.latest < range.to);
  const before = a.latest !== null && a.latest < range.from;
  const after = range.to !== null && a.earliest !== null && a.earliest >= range.to;
  return answer(notBefore && notAfter, before || after || range.from === range.to);
}

/** All hold? no as soon as one is no, possible as soon as one is possible; yes for an empty list. (Kleene's logic) */
export function and(...answers: readonly Answer[]): Answer {
  return answer(
    answers.every((a) => a === 'yes'),
    answers.includes('no'),
  );
}

/** Does any hold? yes as soon as one is yes, possible as soon as one is possible; no for an empty list. (Kleene's logic) */
export function or(...answers: readonly Answer[]): Answer {
  return answer(
    answers.includes('yes'),
    answers.every((a) => a === 'no'),
  );
}

/** The opposite answer; possible stays possible. */
export function not(a: Answer): Answer {
  return answer(a === 'no', a === 'yes');
}
