import { describe, expect, it } from '@jest/globals';
import { distanceBand } from './distance.core.js';
import { DEFAULT_WEIGHTS, fillWeights, RANK_PARTS, weightProblems } from './mate-weights.core.js';
import { compareMates, goodnessOf, type MateFigures, pointsOf, reasonOf, scoreOf } from './rank-mates.core.js';

const figures = (more: Partial<MateFigures> = {}): MateFigures => ({
  sexKnown: true,
  parentless: false,
  adult: 'yes',
  open: null,
  offspringInbreeding: 0,
  meanKinship: 0.1,
  knownAncestry: 1,
  geneDiversityChange: 0,
  distance: 'not_shown',
  ...more,
});
const order = (mates: Record<string, MateFigures>, weights = DEFAULT_WEIGHTS): string[] =>
  Object.entries(mates)
    .map(([registerNumber, mate]) => ({ registerNumber, score: scoreOf(mate, weights, 100) }))
    .toSorted(compareMates)
    .map(({ registerNumber }) => registerNumber);

describe('ranking of mates', () => {
  it('puts the least inbred offspring first', () => {
    expect(
      order({
        cousin: figures({ offspringInbreeding: 0.0625, meanKinship: 0 }),
        stranger: figures({ meanKinship: 0.2, knownAncestry: 0 }),
        sibling: figures({ offspringInbreeding: 0.25 }),
      }),
    ).toEqual(['stranger', 'cousin', 'sibling']);
  });
  it('then the rarer line, then the better known, then the readier, then the number', () => {
    expect(
      order({
        d: figures(),
        c: figures(),
        b: figures({ knownAncestry: 0.5, open: true }),
        a: figures({ meanKinship: 0.02, knownAncestry: 0.1 }),
        e: figures({ open: true }),
        f: figures({ sexKnown: false }),
        g: figures({ sexKnown: false, adult: 'possible' }),
      }),
    ).toEqual(['a', 'e', 'c', 'd', 'f', 'g', 'b']);
  });
  it('takes rounding for no difference', () => {
    expect(
      order({ b: figures({ offspringInbreeding: 0.125 }), a: figures({ offspringInbreeding: 0.125 + 1e-15 }) }),
    ).toEqual(['a', 'b']);
  });
  it('follows the caller’s weights, and a part left out weighs nothing', () => {
    const mates = {
      near: figures({ distance: 'same_region', offspringInbreeding: 0.25 }),
      far: figures({ distance: 'another_country' }),
      hidden: figures({ distance: 'not_shown', offspringInbreeding: 0.125 }),
    };
    expect(order(mates, fillWeights({ distance: 1 }))).toEqual(['near', 'hidden', 'far']);
    expect(order(mates, fillWeights({ distance: 1, offspringInbreeding: 10 }))).toEqual(['far', 'hidden', 'near']);
  });
  it('explains a place by points that sum to 100 for the best there could be', () => {
    const best = figures({ meanKinship: 0, open: true, distance: 'same_region', geneDiversityChange: 1 });
    const weights = fillWeights({ offspringInbreeding: 3, readiness: 1, geneDiversityChange: 1, distance: 5 });
    const sum = (mate: MateFigures) => pointsOf(mate, weights, 100).reduce((total, { points }) => total + points, 0);
    expect(sum(best)).toBeCloseTo(100, 9);
    const other = figures({ offspringInbreeding: 0.5, adult: 'possible', distance: 'another_country' });
    // 3 · 0.5 + 1 · (½ + 1 + ½)/3 + 1 · ½ + 5 · 0.2 of 10.
    expect(sum(other)).toBeCloseTo(10 * (1.5 + 2 / 3 + 0.5 + 1), 6);
    expect(pointsOf(other, weights, 100).map(({ part }) => part)).toEqual([...RANK_PARTS]);
  });
  it('measures a change in gene diversity against what one animal can change', () => {
    expect(goodnessOf('geneDiversityChange', figures({ geneDiversityChange: 0.001 }), 100)).toBeCloseTo(0.6, 9);
    expect(goodnessOf('geneDiversityChange', figures({ geneDiversityChange: -1 }), 100)).toBe(0);
  });
  it('says why in words', () => {
    expect(
      reasonOf(
        figures({
          offspringInbreeding: 0.125,
          meanKinship: 0.05,
          knownAncestry: 0.75,
          parentless: true,
          sexKnown: false,
          adult: 'possible',
          open: false,
        }),
        { size: 10, meanKinship: 0.1 },
      ),
    ).toBe(
      'offspring would be inbred to 12.5 %; a line rarer than most (mean kinship 0.0500, average 0.1000); 75.0 % of the offspring’s ancestry known, so these are lower bounds; no parents recorded; sex not known; perhaps not grown up yet; not open for breeding now',
    );
  });
  it('tells a declared founder from an animal whose parents are not recorded', () => {
    const words = (knownAncestry: number) =>
      reasonOf(figures({ parentless: true, knownAncestry }), { size: 10, meanKinship: 0.1 });
    expect(words(1)).toContain('a declared founder');
    expect(words(0.5)).toContain('no parents recorded');
  });
  it('refuses weights that give no order, each with its path', () => {
    expect(weightProblems(fillWeights({ meanKinship: -1, distance: Number.NaN })).map(({ path }) => path)).toEqual([
      'weights.meanKinship',
      'weights.distance',
    ]);
    expect(weightProblems(fillWeights({})).map(({ path }) => path)).toEqual(['weights']);
    expect(weightProblems(fillWeights({ distance: 2e9 }))).toHaveLength(1);
    expect(weightProblems(DEFAULT_WEIGHTS)).toEqual([]);
  });
});

describe('distance', () => {
  it('is told in bands, and only where the holder shows their holdings and five hold the line', () => {
    expect(distanceBand('XA-NO', 'XA-NO', true, 5)).toBe('same_region');
    expect(distanceBand('XA-NO', 'XA-SO', true, 5)).toBe('same_country');
    expect(distanceBand('XA-NO', 'XB-SO', true, 5)).toBe('another_country');
    expect(distanceBand('XA-NO', 'XA-NO', true, 4)).toBe('not_shown');
    expect(distanceBand('XA-NO', 'XA-NO', false, 9)).toBe('not_shown');
    expect(distanceBand(null, 'XA-NO', true, 9)).toBe('not_shown');
  });
});
