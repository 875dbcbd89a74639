import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { lifeTable } from '../index.js';

describe('lifeTable', () => {
  it('of one birth at age 1 has a closed form: R0 = λ', () => {
    const table = lifeTable([1, 0.5], [0, 3]);
    expect([table.netReproduction, table.generationTime]).toEqual([1.5, 1]);
    expect(table.growthRate).toBeCloseTo(Math.log(1.5), 14);
    expect(table.finiteRate).toBeCloseTo(1.5, 14);
    expect(table.approximateGrowthRate).toBeCloseTo(Math.log(1.5), 14);
  });

  it('of two equal ages solves a quadratic: e^(−r) + e^(−2r) = 1, the golden ratio', () => {
    expect(lifeTable([1, 1, 1], [0, 1, 1]).finiteRate).toBeCloseTo((1 + Math.sqrt(5)) / 2, 13);
  });

  it('that just replaces itself neither grows nor shrinks', () => {
    const table = lifeTable([1, 0.5, 0.25], [0, 1, 2]);
    expect([table.netReproduction, table.growthRate, table.finiteRate]).toEqual([1, 0, 1]);
  });

  it('without reproduction dies out, and has no generation', () => {
    expect(lifeTable([1, 0.4, 0], [0, 0, 9])).toEqual({
      netReproduction: 0,
      generationTime: null,
      growthRate: null,
      finiteRate: 0,
      approximateGrowthRate: null,
      meanAgeOfMothers: null,
    });
  });

  it('solves its equation for any table', () => {
    const share = fc.integer({ min: 0, max: 1_000 }).map((thousandths) => thousandths / 1_000);
    const ages = fc.array(fc.tuple(share, fc.integer({ min: 0, max: 50 })), { minLength: 1, maxLength: 30 });
    fc.assert(
      fc.property(ages, (drawn) => {
        let left = 1;
        const l = [1, ...drawn.map(([share]) => (left *= share))];
        const m = [0, ...drawn.map(([, young]) => young)];
        const { growthRate: r } = lifeTable(l, m);
        const born = l.map((survivors, x) => survivors * (m[x] ?? 0));
        if (r === null) expect(born.every((young) => young === 0)).toBe(true);
        else
          expect(born.reduce((sum, young, x) => sum + (young === 0 ? 0 : young * Math.exp(-r * x)), 0)).toBeCloseTo(
            1,
            9,
          );
      }),
    );
  });

  it.each([
    [[1, 0.5], [0], 'survival has 2 ages, fecundity 1: give both for each age'],
    [[0.9, 0.5], [0, 1], 'survival at age 0 is not 1: count from birth'],
    [[], [], 'survival at age 0 is not 1: count from birth'],
    [[1, 0.5, 0.6], [0, 1, 1], 'survival at age 2 is 0.6: it lies between 0 and that of the age before'],
    [[1, NaN], [0, 1], 'survival at age 1 is NaN: it lies between 0 and that of the age before'],
    [[1, 0.5], [0, -1], 'fecundity at age 1 is -1: give a number of 0 or more'],
    [[1, 0.5], [0.1, 1], /^fecundity at age 0 is above 0: use narrower age classes/],
  ])('refuses l = %j, m = %j', (survival, fecundity, message) => {
    expect(() => lifeTable(survival, fecundity)).toThrow(message);
  });
});
