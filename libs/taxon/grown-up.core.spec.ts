import { describe, expect, it } from '@jest/globals';
import { day } from '../kernel/index.js';
import { isGrownUp } from './grown-up.core.js';

describe('grown up', () => {
  const on = day('2026-06-01');
  it.each([
    ['yes', '2025-01-01', '2025-06-01'],
    ['possible', '2025-01-01', '2025-06-02'],
    ['no', '2025-06-02', '2025-07-01'],
  ])('is %s for a birth between %s and %s at 365 days', (answer, earliest, latest) => {
    expect(isGrownUp({ earliest: day(earliest), latest: day(latest) }, { value: 365 }, on)).toBe(answer);
  });
  it('is possible between the least and the typical number of days', () => {
    const birth = { earliest: day('2025-01-01'), latest: day('2025-01-01') };
    expect(isGrownUp(birth, { min: 365, value: 700 }, on)).toBe('possible');
    expect(isGrownUp(birth, { min: 600, value: 700 }, on)).toBe('no');
    expect(isGrownUp(birth, { max: 500 }, on)).toBe('yes');
  });
  it('is possible where birth or bound is not known', () => {
    expect(isGrownUp(null, { value: 365 }, on)).toBe('possible');
    expect(isGrownUp({ earliest: on, latest: on }, undefined, on)).toBe('possible');
  });
});
