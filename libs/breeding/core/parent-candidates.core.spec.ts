import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, type Day, day, type DaySpan } from '../../kernel/index.js';
import { type Companion, equally, proposeSires, type SireQuestion, toProbabilities } from './parent-candidates.core.js';

const TODAY = day('2026-06-10');
const exact = (text: string): DaySpan => ({ earliest: day(text), latest: day(text) });
const ANY: DaySpan = { earliest: null, latest: null };

const STORAGE = { spermStorageMaxDays: { value: 100, source: 'invented' } };
const BOUNDS = { ...STORAGE, matingToLayingMinDays: { value: 10, source: 'invented' } };

function male(id: string, from: string, to: string | null, more: Partial<Companion> = {}): Companion {
  const shared = [{ damId: 'dam', from: day(from), to: to === null ? null : day(to) }];
  return { id, sex: 'male', birth: exact('2020-01-01'), shared, ...more };
}

function ask(more: Partial<SireQuestion>) {
  return proposeSires({
    dams: [{ id: 'dam', probability: 1 }],
    laid: exact('2026-05-01'),
    today: TODAY,
    bounds: BOUNDS,
    companions: [],
    matings: [],
    weighing: null,
    ...more,
  });
}
const probabilities = (more: Partial<SireQuestion>) =>
  ask(more).candidates.map(({ id, probability }) => [id, probability]);
const codes = (more: Partial<SireQuestion>) => ask(more).warnings.map(({ code }) => code);

describe('sires from living together', () => {
  it('the window runs from the first day sperm can be from to the last mating that can have led to it', () => {
    expect(ask({}).window).toEqual({ from: '2026-01-21', until: '2026-04-21' });
  });

  it('one male is certain, two are equally likely, with the days they shared', () => {
    expect(probabilities({ companions: [male('a', '2026-03-01', null)] })).toEqual([['a', 1]]);
    const two = ask({ companions: [male('a', '2026-03-01', null), male('b', '2026-04-12', '2026-05-01')] });
    expect(two.candidates).toMatchObject([
      { id: 'a', probability: 0.5, basis: 'shared_enclosure', sharedDays: 52 },
      { id: 'b', probability: 0.5, basis: 'shared_enclosure', sharedDays: 10 },
    ]);
  });

  it('or weighed by those days where that is asked for', () => {
    const companions = [male('a', '2026-03-23', null), male('b', '2026-04-12', '2026-05-01')];
    expect(probabilities({ companions, weighing: 'shared_days' })).toEqual([
      ['a', 0.75],
      ['b', 0.25],
    ]);
  });

  it.each([
    ['left before any sperm could last', male('a', '2025-12-01', '2026-01-21')],
    ['came too late for this laying', male('a', '2026-04-22', null)],
    ['was not born', male('a', '2026-03-01', null, { birth: exact('2026-05-02') })],
  ])('a male that %s is no candidate', (_, companion) =>
    expect(probabilities({ companions: [companion] })).toEqual([]),
  );

  it('one day inside the window is enough, at either end', () => {
    expect(probabilities({ companions: [male('a', '2025-12-01', '2026-01-22')] })).toEqual([['a', 1]]);
    expect(probabilities({ companions: [male('a', '2026-04-21', null)] })).toEqual([['a', 1]]);
  });

  it('a male surely too young by the profile is left out, one perhaps old enough is not', () => {
    const bounds = { ...BOUNDS, maturityDays: { min: 365, source: 'invented' } };
    const [young, perhaps] = [exact('2025-06-01'), { earliest: day('2025-01-01'), latest: day('2025-12-31') }];
    expect(probabilities({ bounds, companions: [male('a', '2026-03-01', null, { birth: young })] })).toEqual([]);
    expect(probabilities({ bounds, companions: [male('a', '2026-03-01', null, { birth: perhaps })] })).toHaveLength(1);
  });

  it('without a figure for stored sperm everybody before the laying counts, with a warning', () => {
    const asked = { bounds: {}, companions: [male('a', '2019-01-01', '2019-02-01')] };
    expect(probabilities(asked)).toEqual([['a', 1]]);
    expect(codes(asked)).toEqual(['SPERM_STORAGE_UNKNOWN']);
    expect(ask(asked).window.from).toBeNull();
  });

  it('nobody with her leaves the sire unknown', () => expect(codes({})).toEqual(['NO_SIRE_KNOWN']));

  it('an animal of unknown sex can be the sire, with a warning', () => {
    expect(codes({ companions: [male('a', '2026-03-01', null, { sex: 'unknown' })] })).toEqual(['SIRE_UNSEXED']);
  });
});

describe('recorded matings', () => {
  const seen = { damId: 'dam', sireId: 'b', basis: 'observed' as const, when: exact('2026-04-01') };
  const companions = [male('a', '2026-03-01', null)];

  it('one that was seen outweighs living together, and the others are not forgotten', () => {
    const { candidates, warnings } = ask({ companions, matings: [seen] });
    expect(candidates).toEqual([{ id: 'b', probability: 1, basis: 'observed', sharedDays: 0 }]);
    expect(warnings.map(({ code }) => code)).toEqual(['OTHER_MALES_WITH_DAM']);
  });

  it('a genetic test outweighs both', () => {
    const tested = { ...seen, sireId: 'c', basis: 'genetic_test' as const };
    expect(probabilities({ companions, matings: [seen, tested] })).toEqual([['c', 1]]);
  });

  it('two males seen are equally likely', () => {
    expect(probabilities({ matings: [seen, { ...seen, sireId: 'c' }] })).toEqual([
      ['b', 0.5],
      ['c', 0.5],
    ]);
  });

  it('one surely outside the window, or with nobody known, says nothing', () => {
    expect(probabilities({ matings: [{ ...seen, when: exact('2026-01-20') }] })).toEqual([]);
    expect(probabilities({ matings: [{ ...seen, when: exact('2026-04-22') }] })).toEqual([]);
    expect(probabilities({ matings: [{ ...seen, sireId: null }] })).toEqual([]);
    expect(probabilities({ matings: [{ ...seen, when: ANY }] })).toEqual([['b', 1]]);
  });

  it('one only declared counts beside living together', () => {
    expect(probabilities({ companions, matings: [{ ...seen, basis: 'declared' }] })).toEqual([
      ['a', 0.5],
      ['b', 0.5],
    ]);
  });
});

describe('several possible dams', () => {
  const dams = [
    { id: 'dam', probability: 0.6 },
    { id: 'second', probability: 0.4 },
  ];
  const withSecond = (id: string): Companion => ({
    ...male(id, '2026-03-01', null),
    shared: [{ damId: 'second', from: day('2026-03-01'), to: null }],
  });

  it('weigh their sires with their own probability', () => {
    const companions = [male('a', '2026-03-01', null), withSecond('b')];
    expect(probabilities({ dams, companions })).toEqual([
      ['a', 0.6],
      ['b', 0.4],
    ]);
  });

  it('a dam that nobody was with is left out of the sum and told about', () => {
    const companions = [withSecond('b')];
    expect(probabilities({ dams, companions })).toEqual([['b', 1]]);
    expect(codes({ dams, companions })).toEqual(['DAM_WITHOUT_SIRE']);
  });
});

const sum = (list: readonly { probability: number }[]) =>
  list.reduce((total, { probability }) => total + Math.round(probability * 1e8), 0);

describe('probabilities', () => {
  it('three equal ones sum to exactly 1 in eight decimals', () => {
    expect(equally(['a', 'b', 'c']).map(({ probability }) => probability)).toEqual([
      0.33333334, 0.33333333, 0.33333333,
    ]);
  });

  it('property: any weights become probabilities that sum to exactly 1, in the order of the weights', () => {
    const weight = fc.double({ min: 0.001, max: 1000, noNaN: true });
    fc.assert(
      fc.property(fc.array(weight, { minLength: 1, maxLength: 30 }), (weights) => {
        const made = toProbabilities(new Map(weights.map((each, i) => [`id${i}`, each])));
        expect(sum(made)).toBe(1e8);
        for (const { probability } of made) expect(probability).toBeGreaterThan(0);
      }),
    );
  });

  it('property: candidates sum to 1, and who never lived with a dam and was in no mating is none', () => {
    const start = day('2025-10-01');
    const stay = fc.tuple(fc.integer({ min: 0, max: 250 }), fc.integer({ min: 0, max: 60 }));
    const stays = fc.array(fc.tuple(fc.constantFrom('dam', 'second', 'stranger'), stay), { maxLength: 4 });
    fc.assert(
      fc.property(fc.array(stays, { maxLength: 5 }), fc.constantFrom('equal', 'shared_days'), (males, weighing) => {
        const companions = males.map((own, i): Companion => {
          const shared = own.map(([damId, [from, length]]) => {
            const first: Day = addDays(start, from);
            return { damId, from: first, to: addDays(first, length) };
          });
          return { id: `male${i}`, sex: 'male', birth: ANY, shared };
        });
        const dams = equally(['dam', 'second']);
        const { candidates, window } = ask({ dams, companions, weighing });
        if (candidates.length > 0) expect(sum(candidates)).toBe(1e8);
        const together = companions.filter(({ shared }) =>
          shared.some(
            ({ damId, from, to }) =>
              damId !== 'stranger' && to !== null && from < to && from <= window.until && to > (window.from ?? from),
          ),
        );
        expect(candidates.map(({ id }) => id).toSorted()).toEqual(together.map(({ id }) => id).toSorted());
      }),
    );
  });
});
