import { describe, expect, it } from '@jest/globals';
import { whenInWords } from './when-words.core.js';

describe('whenInWords', () => {
  it.each([
    ['2026-05-03', '3 May 2026'],
    ['2026-05', 'May 2026'],
    ['2026', '2026'],
    ['2026-05~', 'about May 2026'],
    ['2026-05-03~', 'about 3 May 2026'],
    ['2021?', 'perhaps 2021'],
    ['2021%', 'perhaps about 2021'],
    ['202X', 'some time in the 2020s'],
    ['20XX', 'some time in the years 2000 to 2099'],
    ['2021-XX-XX', 'some time in 2021'],
    ['2021-04-XX', 'some time in April 2021'],
    ['2025-12~/2026-02', 'between about December 2025 and February 2026'],
    ['../2024', 'not after 2024'],
    ['2024-03/', 'not before March 2024'],
    ['in spring', 'in spring'],
  ])('%s reads "%s"', (edtf, words) => {
    expect(whenInWords(edtf)).toBe(words);
  });

  it('says when no day is known', () => {
    expect(whenInWords(null)).toBe('day unknown');
  });
});
