import { z } from 'zod';
import {
  day,
  dayFromAge,
  dayFromFinding,
  daysBetween,
  MAX_NATURAL_DAYS,
  parseEdtf,
  type UncertainDay,
} from '../kernel/index.js';
import { dayInput } from '../platform/input/index.js';

const days = z
  .int('This is not a whole number. | Write days, for example 75.')
  .min(0, 'A number of days is 0 or more. | Write days, for example 75.')
  .max(MAX_NATURAL_DAYS, { error: `More than ${MAX_NATURAL_DAYS} days. | Check the number.`, abort: true });

/** Days before the first one that can be written are no days. */
const REACHES = 'That is before the year 1. | Check the day and the number of days.';
const FIRST = day('0001-01-01');

const age = z
  .strictObject({ aboutDaysOld: days, plusMinusDays: days.nullish(), on: dayInput })
  .refine((said) => daysBetween(FIRST, said.on) >= said.aboutDaysOld + (said.plusMinusDays ?? 0), REACHES)
  .transform((said) => dayFromAge({ ...said, plusMinusDays: said.plusMinusDays ?? null }));

const finding = z
  .strictObject({ foundOn: dayInput, atMostDaysBefore: days })
  .refine((said) => daysBetween(FIRST, said.foundOn) >= said.atMostDaysBefore, REACHES)
  .transform(dayFromFinding);

/** As answers give a day, so that one that was read can be sent. */
const answered = z.strictObject({ edtf: z.string() });

/** How a date can be written, for whoever wrote something else. */
const FORMS =
  'This is not a date. | Write 2026-05-03, 2026-05 or 2026-05~, or say { aboutDaysOld, plusMinusDays, on } or { foundOn, atMostDaysBefore }.';

/**
 * A date as a keeper says it: EDTF level 1 as text or `{ edtf }`, `{ aboutDaysOld: 75, plusMinusDays: 5, on: "2026-05-03" }`, or
 * `{ foundOn: "2026-05-03", atMostDaysBefore: 9 }`; the last two become EDTF text (`dayFromAge`, `dayFromFinding` say how). What
 * cannot be read is refused with the way to write it. In GraphQL the scalar is `UncertainDayInput`.
 */
export const uncertainDay = z
  .union([z.string(), z.record(z.string(), z.unknown())], FORMS)
  .transform((given, context): UncertainDay => {
    const answer = answered.safeParse(given);
    const said = answer.success ? answer.data.edtf : given;
    if (typeof said === 'string') {
      const read = parseEdtf(said);
      if (read.ok) return read.value;
      context.addIssue({ code: 'custom', message: `${read.message} | ${read.remedy}` });
      return z.NEVER;
    }
    if (!('aboutDaysOld' in said) && !('foundOn' in said)) {
      context.addIssue({ code: 'custom', message: FORMS });
      return z.NEVER;
    }
    const read = ('aboutDaysOld' in said ? age : finding).safeParse(said);
    if (read.success) return read.data;
    for (const { message, path } of read.error.issues)
      context.addIssue({ code: 'custom', path, message: message.includes(' | ') ? message : FORMS });
    return z.NEVER;
  });
