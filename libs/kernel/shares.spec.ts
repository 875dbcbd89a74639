import { describe, expect, it } from '@jest/globals';
import { checkShares, formatShares, MAX_SHARE_PARTS, normaliseShares } from './shares.js';

describe('shares', () => {
  it('brings parts to the smallest whole numbers', () => {
    expect(normaliseShares([2, 4, 2])).toEqual([1, 2, 1]);
    expect(normaliseShares([7])).toEqual([1]);
    expect(normaliseShares([50, 50])).toEqual([1, 1]);
    expect(normaliseShares([6, 10, 15])).toEqual([6, 10, 15]);
  });

  it('writes each share as a fraction in lowest terms', () => {
    expect(formatShares([1, 1, 1])).toEqual(['1/3', '1/3', '1/3']);
    expect(formatShares([2, 1, 1])).toEqual(['1/2', '1/4', '1/4']);
    expect(formatShares([10])).toEqual(['1/1']);
    expect(formatShares([MAX_SHARE_PARTS, MAX_SHARE_PARTS - 1])).toEqual(['1000000/1999999', '999999/1999999']);
  });

  it('accepts positive whole numbers', () => {
    expect(checkShares([1, 2, MAX_SHARE_PARTS], 'input.shares')).toEqual([]);
  });

  it('names each share that is wrong, by its place', () => {
    const problems = checkShares([1, 0, -1, 0.5, Number.NaN, MAX_SHARE_PARTS + 1], 'input.shares');
    expect(problems.map((problem) => problem.path)).toEqual([1, 2, 3, 4, 5].map((i) => `input.shares.${i}.parts`));
    expect(problems[0]?.message).toBe('0 is not a whole number of parts from 1 to 1000000.');
    expect(checkShares([], 'input.shares')).toMatchObject([{ path: 'input.shares', message: 'There is no owner.' }]);
  });

  it('throws on parts that were not checked', () => {
    for (const parts of [[], [0], [1, -1], [0.5]]) {
      expect(() => normaliseShares(parts)).toThrow(RangeError);
      expect(() => formatShares(parts)).toThrow(RangeError);
    }
  });
});
