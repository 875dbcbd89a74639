import { parseDay } from './day.js';

const GENERAL = 'Write year-month-day: 2021-05-03; 2021-05 or 2021 if less is known; 2021-05~ if approximate.';

/** How to write a date that could not be read: the form it seems to mean where that is plain, otherwise the general form. */
export function suggestDate(text: string): string {
  const candidates = [...new Set(readings(text))].filter((candidate) => parseDay(candidate) !== null);
  if (candidates.length > 0)
    return `Write ${candidates.join(' or ')}${candidates.length > 1 ? ', whichever is meant' : ''}.`;
  return GENERAL;
}

function iso(year = '', month = '', day = ''): string {
  return `${year}-${month.padStart(2, '0')}-${day.padStart(2, '0')}`;
}

function readings(text: string): string[] {
  const compact = /^(\d{4})(\d{2})(\d{2})$/.exec(text);
  if (compact) return [iso(compact[1], compact[2], compact[3])];
  const yearFirst = /^(\d{4})[-./ ](\d{1,2})[-./ ](\d{1,2})(?:[T ].*)?$/.exec(text);
  if (yearFirst) return [iso(yearFirst[1], yearFirst[2], yearFirst[3])];
  const dotted = /^(\d{1,2})\. ?(\d{1,2})\. ?(\d{4})$/.exec(text);
  if (dotted) return [iso(dotted[3], dotted[2], dotted[1])];
  // With slashes or hyphens both day-first and month-first are in use.
  const either = /^(\d{1,2})[-/](\d{1,2})[-/](\d{4})$/.exec(text);
  if (either) return [iso(either[3], either[2], either[1]), iso(either[3], either[1], either[2])];
  return [];
}
