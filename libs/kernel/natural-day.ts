import { addDays, type Day, shiftDay } from './day.js';
import { exactDay, type UncertainDay } from './edtf.js';

/** Longest age or search a sentence can mean, in days; the oldest animals known live under three hundred years. */
export const MAX_NATURAL_DAYS = 110_000;

/**
 * "About 75 days old on 3 May" as the day of birth, "about 75 days ago on 3 May" as the day of any other event. All counts
 * are whole days of 0 or more.
 *
 * With `plusMinusDays` the width is the keeper's own: the span reaches that far to both sides and no later than `on`, when
 * it had happened. Without it no width is known, and none is made up: EDTF's `~` says "approximate" and has no defined
 * width (Library of Congress, EDTF 2019), so the answer is that one day with the flag, `2026-02-17~`. Rules then reckon with that
 * day; who wants them to leave room gives the width.
 */
export function dayFromAge(age: {
  readonly aboutDaysOld: number;
  readonly plusMinusDays: number | null;
  readonly on: Day;
}): UncertainDay {
  const middle = addDays(age.on, -age.aboutDaysOld);
  if (age.plusMinusDays === null) return { ...exactDay(middle), edtf: `${middle}~`, level: 1, approximate: true };
  const latest = shiftDay(middle, age.plusMinusDays);
  return between(addDays(middle, -age.plusMinusDays), latest > age.on ? age.on : latest);
}

/** "Found on this day, happened at most nine days before": the days from then to the finding, both included. */
export function dayFromFinding(found: { readonly foundOn: Day; readonly atMostDaysBefore: number }): UncertainDay {
  return between(addDays(found.foundOn, -found.atMostDaysBefore), found.foundOn);
}

function between(earliest: Day, latest: Day): UncertainDay {
  if (earliest === latest) return exactDay(earliest);
  return { edtf: `${earliest}/${latest}`, earliest, latest, level: 0, approximate: false, uncertain: false };
}
