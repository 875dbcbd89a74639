import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, day, type DaySpan } from '../../kernel/index.js';
import { ENOUGH_INTERVALS, forecastClutch, forecastHatch } from './forecast.core.js';

const START = day('2025-01-01');
const at = (offset: number, width = 0): DaySpan => ({
  earliest: addDays(START, offset),
  latest: addDays(START, offset + width),
});
const RANGE = { min: 75, max: 95, source: 'common practice, no published source' };

describe('the next clutch', () => {
  it('comes from the profile while she has fewer than three intervals, with its source', () => {
    expect(forecastClutch([at(0), at(80), at(160)], RANGE)).toEqual({
      earliest: addDays(START, 235),
      latest: addDays(START, 255),
      basis: 'taxon',
      source: RANGE.source,
    });
  });

  it('comes from her own intervals once there are three', () => {
    const forecast = forecastClutch([at(0), at(82), at(162), at(252)], RANGE);
    expect(forecast).toMatchObject({ earliest: addDays(START, 332), latest: addDays(START, 342), basis: 'own' });
    expect(forecast?.source).toContain('80 to 90 days');
  });

  it('widens with what is not known of the last laying', () => {
    expect(forecastClutch([at(0, 9)], RANGE)).toMatchObject({
      earliest: addDays(START, 75),
      latest: addDays(START, 104),
    });
  });

  it('a typical number alone is one day, a lower bound alone has no end', () => {
    expect(forecastClutch([at(0)], { value: 80, source: 's' })).toMatchObject({
      earliest: addDays(START, 80),
      latest: addDays(START, 80),
    });
    expect(forecastClutch([at(0)], { min: 75, source: 's' })).toMatchObject({
      earliest: addDays(START, 75),
      latest: null,
    });
  });

  it('is not known without a clutch, without a bound, or when no laying is known', () => {
    expect(forecastClutch([], RANGE)).toBeNull();
    expect(forecastClutch([at(0)], undefined)).toBeNull();
    expect(forecastClutch([{ earliest: START, latest: null }], RANGE)).toBeNull();
  });

  it('property: layings at even intervals are forecast to the day, in whatever order they are given', () => {
    const gap = fc.integer({ min: 1, max: 400 });
    const order = fc.array(fc.integer(), { minLength: ENOUGH_INTERVALS + 1, maxLength: 9 });
    fc.assert(
      fc.property(gap, order, (days, keys) => {
        const clutches = keys.map((key, i) => ({ key, span: at(i * days) })).toSorted((a, b) => a.key - b.key);
        const next = addDays(START, keys.length * days);
        const forecast = forecastClutch(
          clutches.map(({ span }) => span),
          RANGE,
        );
        expect(forecast).toMatchObject({ earliest: next, latest: next, basis: 'own' });
      }),
    );
  });

  it('property: with days not known exactly the window holds every interval the days allow', () => {
    const steps = fc.array(fc.tuple(fc.integer({ min: 30, max: 120 }), fc.integer({ min: 0, max: 9 })), {
      minLength: ENOUGH_INTERVALS + 1,
      maxLength: 8,
    });
    fc.assert(
      fc.property(steps, (list) => {
        let offset = 0;
        const truth = list.map(([gap, width]) => ({ day: (offset += gap), width }));
        const clutches = truth.map(({ day: laid, width }) => at(laid - Math.floor(width / 2), width));
        const forecast = forecastClutch(clutches, undefined);
        const lastLaid = truth.at(-1)?.day ?? 0;
        for (const [gap] of list.slice(1)) {
          const next = addDays(START, lastLaid + gap);
          expect(forecast?.earliest !== null && (forecast?.earliest ?? next) <= next).toBe(true);
          expect(forecast?.latest !== null && (forecast?.latest ?? next) >= next).toBe(true);
        }
      }),
    );
  });
});

describe('hatching', () => {
  const range = { min: 50, max: 70, source: 'invented' };
  it('by the profile, then by her own clutches', () => {
    expect(forecastHatch(at(0), [], range)).toMatchObject({
      earliest: addDays(START, 50),
      latest: addDays(START, 70),
      basis: 'taxon',
    });
    const earlier = [55, 58, 61].map((days, i) => ({ laid: at(i * 100), hatched: at(i * 100 + days) }));
    expect(forecastHatch(at(400), earlier, range)).toMatchObject({
      earliest: addDays(START, 455),
      latest: addDays(START, 461),
      basis: 'own',
    });
  });

  it('is not known of eggs laid nobody knows when', () =>
    expect(forecastHatch({ earliest: null, latest: null }, [], range)).toBeNull());
});
