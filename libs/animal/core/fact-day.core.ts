import { type Day, type DaySpan, decide, type Decision, isBefore, isOnOrBefore, refuse } from '../../kernel/index.js';

/** Can something have happened to an animal on these days? Refuses only what is certain: after today, or before its birth. */
export function decideFactDay(when: DaySpan, birth: DaySpan, today: Day): Decision<null> {
  if (isOnOrBefore(when, { earliest: today, latest: today }) === 'no')
    return refuse('DAY_IN_FUTURE', 'This day is still to come.');
  if (isBefore(when, birth) === 'yes')
    return refuse('FACT_BEFORE_BIRTH', 'By the recorded dates the animal was not yet born then.');
  return decide(null);
}
