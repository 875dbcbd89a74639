import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { bookDay, custodyAfter } from './whereabouts.core.js';

describe('where an animal is', () => {
  it('an animal that is gone is with an authority or nobody knows where', () => {
    expect(custodyAfter('seized')).toEqual({ to: { kind: 'authority' }, leftBy: 'seized', arrivedBy: 'received' });
    expect(custodyAfter('escaped')).toEqual({ to: { kind: 'unknown' }, leftBy: 'escaped', arrivedBy: 'lost' });
  });

  it('the book follows the latest day it can be, never a day to come', () => {
    const today = day('2026-06-10');
    const span = (earliest: string | null, latest: string | null) => ({
      earliest: earliest === null ? null : day(earliest),
      latest: latest === null ? null : day(latest),
    });
    expect(bookDay(span('2026-05-01', '2026-05-31'), today)).toBe('2026-05-31');
    expect(bookDay(span('2026-06-01', '2026-06-30'), today)).toBe(today);
    expect(bookDay(span('2026-06-01', null), today)).toBe(today);
  });
});
