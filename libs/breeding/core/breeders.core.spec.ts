import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, day, type Day, type DaySpan } from '../../kernel/index.js';
import {
  type BreedingDam,
  type BreederParty,
  decideBreeders,
  keyOf,
  MAX_BREEDERS,
  type OwnedPeriod,
} from './breeders.core.js';
import { tellBreeders } from './breeders-told.core.js';

const keeper = (keeperId: string): BreederParty => ({ kind: 'keeper', keeperId });
const exact = (text: string): DaySpan => ({ earliest: day(text), latest: day(text) });
const span = (from: string | null, to: string | null): DaySpan => ({
  earliest: from === null ? null : day(from),
  latest: to === null ? null : day(to),
});

function owned(from: string, to: string | null, owners: string[], disputed = false): OwnedPeriod {
  return { from: day(from), to: to === null ? null : day(to), owners: owners.map(keeper), disputed };
}

function dam(periods: OwnedPeriod[], more: Partial<BreedingDam> = {}): BreedingDam {
  return { id: 'dam', bornFrom: null, matings: [], owned: periods, agreed: null, ...more };
}

const seen = (when: DaySpan) => ({ basis: 'observed' as const, when });
const LAID = { earliest: day('2026-05-01'), latest: day('2026-05-01') };
/** 100 days of stored sperm, and 10 from mating to laying at least. */
const WINDOW = { from: day('2026-01-21'), until: day('2026-04-21') };
const NO_LIMIT = { from: null, until: day('2026-05-01') };

/** "odile yes owner_at_mating": who, how surely, why. */
function ask(dams: BreedingDam[], more: Partial<Parameters<typeof decideBreeders>[0]> = {}): string[] {
  return decideBreeders({ dams, laid: LAID, window: WINDOW, ...more }).map(({ party, sure, why }) =>
    [keyOf(party) || '?', sure, ...why].join(' '),
  );
}

const SOLD = [owned('2024-01-01', '2026-03-01', ['odile']), owned('2026-03-01', null, ['bram'])];

describe('the owner of the dam at mating bred the young', () => {
  it.each<[string, BreedingDam[], string[]]>([
    [
      'one owner all the time',
      [dam([owned('2024-01-01', null, ['odile'])], { matings: [seen(exact('2026-04-01'))] })],
      ['odile yes owner_at_mating'],
    ],
    [
      'sold gravid: the former owner',
      [dam(SOLD, { matings: [seen(exact('2026-02-28'))] })],
      ['odile yes owner_at_mating'],
    ],
    [
      'the day of the sale is the buyer’s',
      [dam(SOLD, { matings: [seen(exact('2026-03-01'))] })],
      ['bram yes owner_at_mating'],
    ],
    [
      'mated about the sale',
      [dam(SOLD, { matings: [seen(span('2026-02-20', '2026-03-10'))] })],
      ['bram possible owner_at_mating owner_varies', 'odile possible owner_at_mating owner_varies'],
    ],
    [
      'mated at both',
      [dam(SOLD, { matings: [seen(exact('2026-02-01')), seen(exact('2026-03-20'))] })],
      ['bram possible owner_at_mating owner_varies', 'odile possible owner_at_mating owner_varies'],
    ],
    [
      'what was seen outweighs a stay together',
      [dam(SOLD, { matings: [seen(exact('2026-02-01')), { basis: 'shared_enclosure', when: exact('2026-03-20') }] })],
      ['odile yes owner_at_mating'],
    ],
    [
      'a mating too long ago does not count',
      [dam(SOLD, { matings: [seen(exact('2025-06-01')), seen(exact('2026-04-01'))] })],
      ['bram yes owner_at_mating'],
    ],
    [
      'co-owners bred it together',
      [dam([owned('2024-01-01', null, ['odile', 'petra'])], { matings: [seen(exact('2026-04-01'))] })],
      ['odile yes owner_at_mating', 'petra yes owner_at_mating'],
    ],
    [
      'who stays a co-owner is sure, who sells the share is not',
      [
        dam([owned('2024-01-01', '2026-03-01', ['odile', 'petra']), owned('2026-03-01', null, ['odile'])], {
          matings: [seen(span('2026-02-01', '2026-04-01'))],
        }),
      ],
      ['odile yes owner_at_mating', 'petra possible owner_at_mating owner_varies'],
    ],
    [
      'in dispute nobody is sure',
      [dam([owned('2024-01-01', null, ['odile'], true)], { matings: [seen(exact('2026-04-01'))] })],
      ['odile possible owner_at_mating disputed'],
    ],
    [
      'mated before anything is recorded of her',
      [dam([owned('2026-04-01', null, ['odile'])], { matings: [seen(exact('2026-03-01'))] })],
      ['? possible owner_at_mating owner_unknown'],
    ],
    [
      'a record that names no owner',
      [dam([owned('2024-01-01', null, [])], { matings: [seen(exact('2026-03-01'))] })],
      ['? possible owner_at_mating owner_unknown'],
    ],
    [
      'two dams of two owners',
      [dam([owned('2024-01-01', null, ['odile'])]), dam([owned('2024-01-01', null, ['petra'])], { id: 'other' })],
      ['odile possible owner_at_laying several_dams', 'petra possible owner_at_laying several_dams'],
    ],
    [
      'two dams of one owner',
      [dam([owned('2024-01-01', null, ['odile'])]), dam([owned('2024-01-01', null, ['odile'])], { id: 'other' })],
      ['odile yes owner_at_laying'],
    ],
    [
      'two records of one dam that differ',
      [
        dam([owned('2024-01-01', null, ['odile']), owned('2024-01-01', null, ['petra'])], {
          matings: [seen(exact('2026-04-01'))],
        }),
      ],
      ['odile possible owner_at_mating owner_varies', 'petra possible owner_at_mating owner_varies'],
    ],
    ['no dam at all', [], []],
  ])('%s', (_, dams, expected) => {
    expect(ask(dams)).toEqual(expected);
  });

  it('a mating on an unknown day can have been before the records, but not before she lived', () => {
    const bred = dam([owned('2024-01-01', null, ['odile'])], { matings: [seen(span(null, null))] });
    expect(ask([bred], { window: NO_LIMIT })).toEqual([
      'odile possible owner_at_mating owner_varies',
      '? possible owner_at_mating owner_unknown owner_varies',
    ]);
    expect(ask([{ ...bred, bornFrom: day('2024-01-01') }], { window: NO_LIMIT })).toEqual([
      'odile yes owner_at_mating',
    ]);
  });
});

describe('without a recorded mating the days of laying count, and it says so', () => {
  it('one owner through the whole time in which sperm can be stored is sure', () => {
    expect(ask([dam([owned('2026-01-21', null, ['odile'])])])).toEqual(['odile yes owner_at_laying']);
    expect(ask([dam([owned('2026-01-22', null, ['odile'])])])).toEqual(['odile possible owner_at_laying owner_varies']);
  });

  it('a change of owner in that time leaves it at possible, one before it does not', () => {
    expect(ask([dam(SOLD)])).toEqual(['bram possible owner_at_laying owner_varies']);
    const earlier = [owned('2024-01-01', '2026-01-21', ['odile']), owned('2026-01-21', null, ['bram'])];
    expect(ask([dam(earlier)])).toEqual(['bram yes owner_at_laying']);
  });

  it('where the time is not known, any recorded owner before leaves doubt, and days without a record do not', () => {
    const earlier = [owned('2015-01-01', '2020-01-01', ['odile']), owned('2020-01-01', null, ['bram'])];
    expect(ask([dam(earlier)], { window: NO_LIMIT })).toEqual(['bram possible owner_at_laying owner_varies']);
    expect(ask([dam(earlier.slice(1))], { window: NO_LIMIT })).toEqual(['bram yes owner_at_laying']);
  });

  it('several days of laying over a change name both', () => {
    const laid = { earliest: day('2026-02-20'), latest: day('2026-03-10') };
    expect(ask([dam(SOLD)], { laid })).toEqual([
      'bram possible owner_at_laying owner_varies',
      'odile possible owner_at_laying owner_varies',
    ]);
  });
});

describe('terms of a loan say otherwise', () => {
  const terms = (breeders: string[], from = '2026-02-01', to: string | null = '2026-06-01') => [
    { from: day(from), to: to === null ? null : day(to), breeders: breeders.map(keeper) },
  ];
  const lent = (agreed: BreedingDam['agreed'], when = exact('2026-04-01')) =>
    dam([owned('2024-01-01', null, ['odile'])], { matings: [seen(when)], agreed });

  it.each<[string, BreedingDam, string[]]>([
    ['the borrower', lent(terms(['bram'])), ['bram yes agreed']],
    ['both', lent(terms(['odile', 'bram'])), ['bram yes agreed', 'odile yes agreed']],
    ['mated before the loan', lent(terms(['bram'], '2026-04-02')), ['odile yes owner_at_mating']],
    [
      'mated perhaps before',
      lent(terms(['bram']), span('2026-01-25', '2026-04-01')),
      ['bram possible agreed owner_varies', 'odile possible owner_at_mating owner_varies'],
    ],
  ])('%s', (_, bred, expected) => {
    expect(ask([bred])).toEqual(expected);
  });
});

describe('over any owners and days', () => {
  const BASE = day('2026-01-01');
  const at = (offset: number): Day => addDays(BASE, offset);
  const names = fc.uniqueArray(fc.constantFrom('a', 'b', 'c', 'd'), { minLength: 0, maxLength: 3 });
  /** Periods one after the other from some day on, as the constraint of the table has them. */
  const chain = fc
    .tuple(
      fc.integer({ min: -30, max: 30 }),
      fc.array(fc.tuple(fc.integer({ min: 1, max: 40 }), names, fc.boolean()), { maxLength: 5 }),
    )
    .map(([start, parts]) => {
      const starts = parts.map((_, i) => start + parts.slice(0, i).reduce((sum, [days]) => sum + days, 0));
      return parts.map(([, owners, disputed], i): OwnedPeriod => {
        const next = starts[i + 1];
        return {
          from: at(starts[i] ?? 0),
          to: next === undefined ? null : at(next),
          owners: owners.map(keeper),
          disputed,
        };
      });
    });
  const mating = fc
    .tuple(fc.integer({ min: 0, max: 60 }), fc.integer({ min: 0, max: 30 }))
    .map(([from, width]) => ({ from, to: from + width }));

  it('asks each possible day by itself, and agrees', () => {
    const anyDam = fc.record({ periods: chain, days: fc.array(mating, { minLength: 1, maxLength: 3 }) });
    fc.assert(
      fc.property(fc.array(anyDam, { minLength: 1, maxLength: 3 }), (made) => {
        const dams = made.map(({ periods, days }, i) =>
          dam(periods, {
            id: `dam ${i}`,
            matings: days.map(({ from, to }) => seen({ earliest: at(from), latest: at(to) })),
          }),
        );
        const window = { from: at(0), until: at(90) };
        const found = decideBreeders({ dams, laid: { earliest: at(100), latest: at(100) }, window });
        const cases = made.flatMap(({ periods, days }) =>
          days.flatMap(({ from, to }) =>
            Array.from({ length: to - from + 1 }, (_, i) => {
              const on = at(from + i);
              const period = periods.find((each) => each.from <= on && (each.to === null || on < each.to));
              const owners = (period?.owners ?? []).map((owner) => keyOf(owner));
              return { owners: owners.length === 0 ? [''] : owners, disputed: period?.disputed === true };
            }),
          ),
        );
        expect(found.map(({ party }) => keyOf(party)).toSorted()).toEqual(
          [...new Set(cases.flatMap(({ owners }) => owners))].toSorted(),
        );
        for (const { party, sure } of found) {
          const own = cases.filter(({ owners }) => owners.includes(keyOf(party)));
          const certain = party !== null && own.length === cases.length && own.every(({ disputed }) => !disputed);
          expect(sure).toBe(certain ? 'yes' : 'possible');
        }
      }),
    );
  });

  it('who is not sure is told why, and nobody who owned her on no day that counts is named', () => {
    fc.assert(
      fc.property(chain, fc.option(mating), (periods, mated) => {
        const matings = mated === null ? [] : [seen({ earliest: at(mated.from), latest: at(mated.to) })];
        const window = { from: at(0), until: at(90) };
        const found = decideBreeders({
          dams: [dam(periods, { matings })],
          laid: { earliest: at(95), latest: at(99) },
          window,
        });
        const doubts = ['owner_varies', 'owner_unknown', 'disputed'];
        for (const { sure, why } of found)
          expect(why.some((reason) => doubts.includes(reason))).toBe(sure === 'possible');
        const [from, to] = mated === null ? [95, 99] : [mated.from, mated.to];
        const owners = periods
          .filter((each) => each.from <= at(to) && (each.to === null || each.to > at(from)))
          .flatMap((each) => each.owners.map(keyOf));
        for (const { party } of found) if (party !== null) expect(owners).toContain(keyOf(party));
      }),
    );
  });

  it('names no more than a list holds; the rest is one entry without a name', () => {
    const many = Array.from({ length: MAX_BREEDERS + 5 }, (_, i) => `keeper ${i}`);
    const found = decideBreeders({ dams: [dam([owned('2024-01-01', null, many)])], laid: LAID, window: WINDOW });
    expect(found).toHaveLength(MAX_BREEDERS);
    expect(found.at(-1)).toEqual({ party: null, sure: 'possible', why: ['owner_unknown', 'more_than_named'] });
  });
});

describe('who is told of the breeders', () => {
  const breeders = decideBreeders({
    dams: [dam(SOLD, { matings: [seen(span('2026-02-20', '2026-03-10'))] })],
    laid: LAID,
    window: WINDOW,
  });
  const sale = { giverId: 'odile', receiverId: 'bram', taken: false };
  const toldOf = (
    dealings: readonly (typeof sale)[],
    standing: 'keeper' | 'hatched_with' | 'shared' | 'none',
    ...mine: string[]
  ) =>
    tellBreeders(breeders, { standing, mine, clutchKeeperId: 'bram', dealings })?.map(({ named, why }) =>
      [named === null ? '-' : keyOf(named), ...why].join(' '),
    ) ?? null;

  const told = (...to: [standing: 'keeper' | 'hatched_with' | 'shared' | 'none', ...mine: string[]]) =>
    toldOf([sale], ...to);

  it('no keeper with whom the clutch’s keeper did not deal over the dam is named', () => {
    const back = { giverId: 'bram', receiverId: 'odile', taken: false };
    for (const dealings of [[], [{ ...sale, giverId: 'rosa' }], [{ ...back, taken: true }]]) {
      expect(toldOf(dealings, 'keeper', 'bram')?.[1]).toBe('- owner_at_mating owner_varies');
      expect(toldOf(dealings, 'hatched_with', 'rosa')).toEqual(['bram owner_at_mating', '- owner_at_mating']);
    }
    expect(toldOf([back], 'keeper', 'bram')?.[1]).toBe('odile owner_at_mating owner_varies');
    expect(toldOf([], 'none', 'odile')).toEqual(['- owner_at_mating', 'odile owner_at_mating owner_varies']);
  });

  it('by what the viewer is to the clutch', () => {
    expect(told('keeper', 'bram')).toEqual(['bram owner_at_mating owner_varies', 'odile owner_at_mating owner_varies']);
    expect(told('hatched_with', 'rosa')).toEqual(['bram owner_at_mating', 'odile owner_at_mating']);
    expect(told('shared', 'rosa')).toEqual(['bram owner_at_mating', '- owner_at_mating']);
    expect(told('none', 'odile')).toEqual(['- owner_at_mating', 'odile owner_at_mating owner_varies']);
    expect(told('none', 'rosa')).toBeNull();
  });
});
