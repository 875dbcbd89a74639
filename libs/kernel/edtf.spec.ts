import { describe, expect, it } from '@jest/globals';
import { day } from './day.js';
import { exactDay, parseEdtf, type UncertainDay } from './edtf.js';

function read(text: string): UncertainDay {
  const result = parseEdtf(text);
  if (!result.ok) throw new Error(`${text}: ${result.message}`);
  return result.value;
}

function problem(text: string): { message: string; remedy: string } {
  const result = parseEdtf(text);
  if (result.ok) throw new Error(`${text} was accepted`);
  return { message: result.message, remedy: result.remedy };
}

describe('edtf', () => {
  it.each([
    ['20XX', '2000-01-01', '2099-12-31', 1],
    ['2021-XX-XX', '2021-01-01', '2021-12-31', 1],
    ['2024-02', '2024-02-01', '2024-02-29', 0],
    ['2023-02-XX', '2023-02-01', '2023-02-28', 1],
    ['0001', '0001-01-01', '0001-12-31', 0],
    ['9999-12', '9999-12-01', '9999-12-31', 0],
    ['2021/2023', '2021-01-01', '2023-12-31', 0],
    ['2021-05-03/2021-05-03', '2021-05-03', '2021-05-03', 0],
    ['2021-05-10/2021-05', '2021-05-10', '2021-05-31', 0],
    ['2021-05/', '2021-05-01', null, 1],
    ['/2021-05', null, '2021-05-31', 1],
    ['../2021-05-03', null, '2021-05-03', 1],
  ])('reads %s as %s to %s, level %i', (text, earliest, latest, level) => {
    expect(read(text)).toMatchObject({ edtf: text, earliest, latest, level });
  });

  it.each([
    ['2021', false, false],
    ['2021?', false, true],
    ['2021-05~', true, false],
    ['2021-05-03%', true, true],
    ['202X~', true, false],
    ['2020~/2021?', true, true],
    ['2020/2021?', false, true],
  ])('flags %s: approximate %s, uncertain %s', (text, approximate, uncertain) => {
    expect(read(text)).toMatchObject({ approximate, uncertain });
  });

  it('gives ~, ? and % no width', () => {
    for (const qualifier of ['~', '?', '%']) {
      expect(read(`2021-05-03${qualifier}`)).toMatchObject({ earliest: '2021-05-03', latest: '2021-05-03', level: 1 });
    }
  });

  it('drops blanks around the text', () => {
    expect(read(' 2021-05 ').edtf).toBe('2021-05');
  });

  it('makes an exact day that reads back as itself', () => {
    expect(exactDay(day('2021-05-03'))).toEqual(read('2021-05-03'));
  });

  it.each([
    ['2021-02-29', 'has no day 29', '2021-02-01 to 2021-02-28, or 2021-02'],
    ['2021-05-00', 'has no day 00', '2021-05-01 to 2021-05-31'],
    ['2021-13', 'no month 13', '2021-01 to 2021-12, or 2021'],
    ['2021-00', 'no month 00', '2021-01 to 2021-12'],
    ['20210503', 'not a date', 'Write 2021-05-03.'],
    ['03.05.2021', 'not a date', 'Write 2021-05-03.'],
    ['3. 5. 2021', 'not a date', 'Write 2021-05-03.'],
    ['2021-5-3', 'not a date', 'Write 2021-05-03.'],
    ['2021.05.03', 'not a date', 'Write 2021-05-03.'],
    ['2021-05-03T10:00:00Z', 'not a date', 'Write 2021-05-03.'],
    ['03/05/2021', 'not a date', 'Write 2021-05-03 or 2021-03-05, whichever is meant.'],
    ['25/05/2021', 'not a date', 'Write 2021-05-25.'],
    ['05/2021', 'not a date', 'Write year-month-day'],
    ['May 2021', 'not a date', 'Write year-month-day'],
    ['', 'not a date', 'Write year-month-day'],
    ['2021-21', 'Seasons', '2021-03/2021-05'],
    ['0000', 'start at 0001', '0001 to 9999'],
    ['000X', 'start at 0001', '0001 to 9999'],
    ['202X-05', 'cannot follow', 'Write 202X alone.'],
    ['2021-XX-03', 'unknown month', '2021-XX-XX'],
    ['2021-1X', 'not a date', 'Write year-month-day'],
    ['2XXX', 'not a date', 'Write year-month-day'],
    ['2021~-05', 'not a date', 'Write year-month-day'],
    ['2021-07/2021-05', 'ends before it starts', 'Write the earlier date first: 2021-05/2021-07.'],
    ['2021-05-03/2020', 'ends before it starts', '2020/2021-05-03'],
    ['2021-05-XX/2021-07', 'X digits', 'Write 2021-05 there.'],
    ['202X/2031', 'X digits', 'first or last year'],
    ['2021/2022-13', 'no month 13', '2022-01 to 2022-12'],
    ['2020/2021/2022', 'not a date', 'Write year-month-day'],
    ['../..', 'at least one known end', '2021/..'],
    ['/', 'at least one known end', '2021/..'],
    ['/..', 'at least one known end', '2021/..'],
    ['../', 'at least one known end', '2021/..'],
  ])('rejects %j: %s; %s', (text, message, remedy) => {
    expect(problem(text).message).toContain(message);
    expect(problem(text).remedy).toContain(remedy);
  });

  it('accepts what its own remedies show', () => {
    for (const text of ['20210503', '03.05.2021', '2021-07/2021-05', '2021-21', '2021-13', '2021-02-29', 'x']) {
      const shown = problem(text).remedy.match(/\d{4}[\d\-/~]*/g) ?? [];
      expect(shown.length).toBeGreaterThan(0);
      for (const example of shown) expect(parseEdtf(example)).toMatchObject({ ok: true });
    }
  });

  it('does not repeat a long text in full', () => {
    expect(problem('x'.repeat(10_000)).message.length).toBeLessThan(120);
  });
});
