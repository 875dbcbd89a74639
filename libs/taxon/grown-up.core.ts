import { shiftDay, type Answer, type Day, type DaySpan, isBefore, isOnOrBefore } from '../kernel/index.js';

/** Days from birth to breeding as the taxon's profile has them: a typical number, and limits where a source gives them. */
export type Maturity = {
  readonly value?: number | undefined;
  readonly min?: number | undefined;
  readonly max?: number | undefined;
};

/**
 * Whether an animal is grown up on a day, three-valued: surely not before the least number of days, surely from the typical
 * one on. Databases disagree about these numbers, so the answer only sorts candidates. Without birth or numbers it is `possible`.
 */
export function isGrownUp(birth: DaySpan | null, maturity: Maturity | undefined, on: Day): Answer {
  const least = maturity?.min ?? maturity?.value ?? maturity?.max;
  const typical = maturity?.value ?? maturity?.max ?? maturity?.min;
  if (birth === null || least === undefined || typical === undefined) return 'possible';
  const exactly = (days: number): DaySpan => ({
    earliest: shiftDay(on, -Math.round(days)),
    latest: shiftDay(on, -Math.round(days)),
  });
  if (isBefore(exactly(least), birth) === 'yes') return 'no';
  return isOnOrBefore(birth, exactly(typical)) === 'yes' ? 'yes' : 'possible';
}
