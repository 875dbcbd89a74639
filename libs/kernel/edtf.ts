import { daysInMonth, parseDay, type Day } from './day.js';
import { suggestDate } from './edtf-remedy.js';

/**
 * When something happened, as well as it is known. The fact falls on one day from `earliest` to `latest`, both included;
 * null = that side is open or unknown. `level` is the EDTF level the text needs. `approximate` (`~`, `%`) and `uncertain`
 * (`?`, `%`) are flags only: they have no defined width and move neither end.
 */
export type UncertainDay = {
  readonly edtf: string;
  readonly earliest: Day | null;
  readonly latest: Day | null;
  readonly level: 0 | 1;
  readonly approximate: boolean;
  readonly uncertain: boolean;
};

/** A date that was read, or why it was not and how to write it. */
export type EdtfResult = { ok: true; value: UncertainDay } | { ok: false; message: string; remedy: string };

type Failure = { ok: false; message: string; remedy: string };

/** Year with up to two X from the right; month; day. An X part may not be followed by a known one. */
const DATE = /^(\d{4}|\d{3}X|\d{2}XX)(?:-(\d{2}|XX)(?:-(\d{2}|XX))?)?([?~%])?$/;

/**
 * Reads a date in the level 0 and level 1 forms of EDTF that occur in stock books: year, month, day, `?` `~` `%` at the
 * end, X for digits unknown from the right, intervals `a/b`, `..` for an open end, nothing for an unknown end. Times of
 * day, seasons and years outside 0001 to 9999 are refused, and so are X inside an interval (level 2 there), reversed
 * intervals and intervals without any known end. Blanks around the text are dropped; otherwise `edtf` is as written.
 * Source: Library of Congress, Extended Date/Time Format, 4 February 2019; ISO 8601-2:2019.
 */
export function parseEdtf(text: string): EdtfResult {
  const trimmed = text.trim();
  const ends = trimmed.split('/');
  const [start, end] = ends;
  if (start === undefined || end === undefined) return parseDate(trimmed);
  return ends.length === 2 ? parseInterval(trimmed, start, end) : unreadable(trimmed);
}

/** The exact day as an uncertain day that leaves no doubt. */
export function exactDay(day: Day): UncertainDay {
  return { edtf: day, earliest: day, latest: day, level: 0, approximate: false, uncertain: false };
}

function fail(message: string, remedy: string): Failure {
  return { ok: false, message, remedy };
}

function unreadable(text: string): Failure {
  return fail(`"${text.slice(0, 40)}" is not a date in a form that can be read.`, suggestDate(text));
}

function parseDate(text: string): EdtfResult {
  const match = DATE.exec(text);
  if (!match) return unreadable(text);
  const [, year = '', month, day, qualifier] = match;
  const firstYear = Number(year.replaceAll('X', '0'));
  if (firstYear === 0) return fail('Years start at 0001.', 'Write a year from 0001 to 9999.');
  if (year.includes('X') && month !== undefined) {
    return fail('A month cannot follow a year that is not fully known.', `Write ${year} alone.`);
  }
  if (month === 'XX' && day !== undefined && day !== 'XX') {
    return fail('A day cannot follow an unknown month.', `Write ${year} or ${year}-XX-XX.`);
  }
  const span = spanOf(year, month, day);
  if ('ok' in span) return span;
  return {
    ok: true,
    value: {
      edtf: text,
      ...span,
      level: qualifier !== undefined || text.includes('X') ? 1 : 0,
      approximate: qualifier === '~' || qualifier === '%',
      uncertain: qualifier === '?' || qualifier === '%',
    },
  };
}

/** First and last day of the parts as written, or the reason why no such day exists. */
function spanOf(year: string, month = 'XX', day = 'XX'): { earliest: Day | null; latest: Day | null } | Failure {
  const first = year.replaceAll('X', '0');
  if (month === 'XX')
    return { earliest: parseDay(`${first}-01-01`), latest: parseDay(`${year.replaceAll('X', '9')}-12-31`) };
  const monthNumber = Number(month);
  if (monthNumber >= 21 && monthNumber <= 24) {
    return fail(
      'Seasons are not used: they differ by hemisphere.',
      `Write the months, for example ${first}-03/${first}-05.`,
    );
  }
  if (monthNumber < 1 || monthNumber > 12) {
    return fail(
      `There is no month ${month}.`,
      `Write a month from ${first}-01 to ${first}-12, or ${first} if the month is not known.`,
    );
  }
  const length = daysInMonth(Number(first), monthNumber);
  const prefix = `${first}-${month}`;
  if (day === 'XX') return { earliest: parseDay(`${prefix}-01`), latest: parseDay(`${prefix}-${length}`) };
  const exact = parseDay(`${prefix}-${day}`);
  if (exact === null) {
    return fail(
      `${prefix} has no day ${day}.`,
      `Write a day from ${prefix}-01 to ${prefix}-${length}, or ${prefix} if the day is not known.`,
    );
  }
  return { earliest: exact, latest: exact };
}

function parseInterval(text: string, start: string, end: string): EdtfResult {
  const from = parseEnd(start);
  if (from !== null && !from.ok) return from;
  const to = parseEnd(end);
  if (to !== null && !to.ok) return to;
  if (from === null && to === null) {
    return fail('An interval needs at least one known end.', 'Write 2021/.. or ../2021, with the year you know.');
  }
  const earliest = from?.value.earliest ?? null;
  const latest = to?.value.latest ?? null;
  if (earliest !== null && latest !== null && earliest > latest) {
    return fail('The interval ends before it starts.', `Write the earlier date first: ${end}/${start}.`);
  }
  const ends = [from?.value, to?.value].filter((value) => value !== undefined);
  return {
    ok: true,
    value: {
      edtf: text,
      earliest,
      latest,
      level: ends.length < 2 || ends.some((value) => value.level === 1) ? 1 : 0,
      approximate: ends.some((value) => value.approximate),
      uncertain: ends.some((value) => value.uncertain),
    },
  };
}

/** One end of an interval; null when it is open (`..`) or unknown (empty). */
function parseEnd(text: string): EdtfResult | null {
  if (text === '' || text === '..') return null;
  const result = parseDate(text);
  if (result.ok && text.includes('X')) {
    const known = text.replace(/(-XX)+/, '');
    const remedy = known.includes('X') ? 'Write the first or last year that is possible.' : `Write ${known} there.`;
    return fail('An end of an interval cannot have X digits.', remedy);
  }
  return result;
}
