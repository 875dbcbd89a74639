import { describe, expect, it } from '@jest/globals';
import { addDays, day } from '../../kernel/index.js';
import { expiryState, slotDue } from './expiry.core.js';

const LAST = day('2026-09-30');
const paper = { validFrom: day('2025-10-01'), validUntil: LAST };

describe('slotDue', () => {
  it.each([
    [-91, null],
    [-90, '90'],
    [-31, '90'],
    [-30, '30'],
    [-8, '30'],
    [-7, '7'],
    [-1, '7'],
    [0, '7'],
    [1, 'lapsed'],
    [30, 'lapsed'],
    [31, null],
  ])('%i days from the last valid day: %s', (days, slot) => {
    expect(slotDue(paper, addDays(LAST, days))).toBe(slot);
  });

  it('says nothing of a document that is not valid yet or has no end', () => {
    const short = { validFrom: day('2026-09-01'), validUntil: LAST };
    expect(slotDue(short, day('2026-08-31'))).toBeNull();
    expect(slotDue(short, day('2026-09-01'))).toBe('30');
    expect(slotDue({ validFrom: null, validUntil: null }, LAST)).toBeNull();
  });
});

describe('expiryState', () => {
  it.each([
    ['2025-09-30', { state: 'not_yet_valid', inDays: 1 }],
    ['2025-10-01', { state: 'valid', inDays: 364 }],
    ['2026-07-01', { state: 'valid', inDays: 91 }],
    ['2026-07-02', { state: 'lapsing', inDays: 90 }],
    ['2026-09-30', { state: 'lapsing', inDays: 0 }],
    ['2026-10-01', { state: 'lapsed', daysAgo: 1 }],
  ])('on %s', (on, expected) => {
    expect(expiryState(paper, day(on))).toEqual(expected);
  });

  it('without an end', () => {
    expect(expiryState({ validFrom: null, validUntil: null }, LAST)).toEqual({ state: 'valid_without_end' });
    expect(expiryState({ validFrom: addDays(LAST, 5), validUntil: null }, LAST)).toEqual({
      state: 'not_yet_valid',
      inDays: 5,
    });
  });
});
