import { parseEdtf } from '../../kernel/index.js';

const MONTHS = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];

/**
 * An EDTF date in the words of a paper: `2026-05~` is "about May 2026", `2026-05-03` "3 May 2026", `2025/2026` "between
 * 2025 and 2026", `202X` "some time in the 2020s", null "day unknown". What cannot be read is repeated as it stands.
 */
export function whenInWords(edtf: string | null): string {
  if (edtf === null) return 'day unknown';
  const read = parseEdtf(edtf);
  if (!read.ok) return edtf;
  const [start = '', end] = read.value.edtf.split('/');
  if (end === undefined) return one(start);
  if (start === '' || start === '..') return `not after ${one(end)}`;
  if (end === '' || end === '..') return `not before ${one(start)}`;
  return `between ${one(start)} and ${one(end)}`;
}

function one(text: string): string {
  const qualifier = { '~': 'about ', '?': 'perhaps ', '%': 'perhaps about ' }[text.slice(-1)] ?? '';
  const [year = '', month, dayOfMonth] = text.replace(/[~?%]$/, '').split('-');
  if (year.endsWith('XX'))
    return `${qualifier}some time in the years ${year.replace('XX', '00')} to ${year.replace('XX', '99')}`;
  if (year.endsWith('X')) return `${qualifier}some time in the ${year.replace('X', '0')}s`;
  const name = month === undefined || month === 'XX' ? null : MONTHS[Number(month) - 1];
  if (name === null || name === undefined) return `${qualifier}${month === 'XX' ? 'some time in ' : ''}${year}`;
  if (dayOfMonth === 'XX') return `${qualifier}some time in ${name} ${year}`;
  return `${qualifier}${dayOfMonth === undefined ? '' : `${Number(dayOfMonth)} `}${name} ${year}`;
}
