import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { distanceBand } from './distance.core.js';
import { type MateFigures, rankMates } from './rank-mates.core.js';

const mate = (id: string, figures: Partial<MateFigures> = {}): MateFigures => ({
  id,
  registerNumber: id,
  sexKnown: true,
  parentless: false,
  adult: 'yes',
  offspringInbreeding: 0,
  meanKinship: 0.1,
  knownAncestry: 1,
  ...figures,
});
const order = (mates: MateFigures[]) => rankMates(mates, 0.1).map(({ id }) => id);

describe('ranking of mates', () => {
  it('puts the least inbred offspring first', () => {
    expect(
      order([
        mate('cousin', { offspringInbreeding: 0.0625 }),
        mate('stranger'),
        mate('sibling', { offspringInbreeding: 0.25 }),
      ]),
    ).toEqual(['stranger', 'cousin', 'sibling']);
  });
  it('then the rarer line, then the better known, then the number', () => {
    expect(order([mate('d'), mate('c'), mate('b', { knownAncestry: 0.5 }), mate('a', { meanKinship: 0.02 })])).toEqual([
      'a',
      'c',
      'd',
      'b',
    ]);
  });
  it('then known sex and grown up', () => {
    expect(order([mate('a', { sexKnown: false }), mate('b', { adult: 'possible' }), mate('c')])).toEqual([
      'c',
      'b',
      'a',
    ]);
  });
  it('says why in words', () => {
    const [first] = rankMates(
      [
        mate('a', {
          offspringInbreeding: 0.125,
          meanKinship: 0.05,
          knownAncestry: 0.75,
          parentless: true,
          sexKnown: false,
          adult: 'possible',
        }),
      ],
      0.1,
    );
    expect(first?.reason).toBe(
      'offspring would be inbred to 12.5 %; a line rarer than most (mean kinship 0.0500, average 0.1000); 75.0 % of the offspring’s ancestry known, so these are lower bounds; no parents recorded, so it counts as a founder; sex not known; perhaps not grown up yet',
    );
  });
  it('does not depend on the order it is asked in', () => {
    const figures = fc.record({
      offspringInbreeding: fc.constantFrom(0, 0.125, 0.1250000000001, 0.25),
      meanKinship: fc.constantFrom(0.1, 0.2),
      knownAncestry: fc.constantFrom(0.5, 1),
    });
    fc.assert(
      fc.property(fc.array(figures, { maxLength: 12 }), fc.nat(), (list, turn) => {
        const mates = list.map((one, i) => mate(`n${String(i).padStart(2, '0')}`, one));
        const cut = mates.length === 0 ? 0 : turn % mates.length;
        expect(order([...mates.slice(cut), ...mates.slice(0, cut)])).toEqual(order(mates));
      }),
    );
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
