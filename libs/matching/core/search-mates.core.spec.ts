import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, type Answer, day, type Day, type DaySpan } from '../../kernel/index.js';
import { isGrownUp } from '../../taxon/index.js';
import { type CandidateRow, CandidateTable, dayNumber, HOLDINGS, NO_DAY } from './candidate-table.core.js';
import { DISTANCE_BANDS, distanceBand } from './distance.core.js';
import { fillFilters, type FilterInput } from './mate-filters.core.js';
import { DEFAULT_WEIGHTS, fillWeights } from './mate-weights.core.js';
import { nearestReasons } from './nearest.core.js';
import { compareMates, scoreOf } from './rank-mates.core.js';
import { isAdult, type KeeperView, type MateNumbers, type MateQuestion, searchMates } from './search-mates.core.js';

const TODAY = day('2026-06-01');
const N = dayNumber(TODAY);

type Animal = CandidateRow & {
  kinship: number;
  meanKinship: number;
  known: number;
  apart: 'no' | 'today' | 'then' | 'both';
};

const KEEPERS = Array.from({ length: 9 }, (_, i) => `k${i}`);
const LINES = ['north', 'south', null];

const animal = fc.record({
  lineId: fc.constantFrom(...LINES),
  sex: fc.constantFrom('male' as const, 'female' as const, 'unknown' as const),
  bornEarliest: fc.constantFrom(null, N - 400, N - 366, N - 300, N - 10),
  bornLatest: fc.constantFrom(null, N - 365, N - 200, N - 10),
  promised: fc.boolean(),
  holder: fc.constantFrom(null, ...KEEPERS),
  holdings: fc.constantFrom(null, ...HOLDINGS),
  withheld: fc.boolean(),
  owners: fc.subarray(KEEPERS, { maxLength: 2 }),
  withholders: fc.subarray(KEEPERS),
  open: fc.constantFrom(null, true, false),
  openUntil: fc.constantFrom(null, N - 1, N, N + 20),
  kinship: fc.constantFrom(0, 0.125, 0.1250000000001, 0.25, 0.5),
  meanKinship: fc.constantFrom(0.1, 0.2),
  known: fc.constantFrom(0, 0.5, 1),
  apart: fc.constantFrom('no' as const, 'today' as const, 'then' as const, 'both' as const),
});
const keeper = fc.record({
  own: fc.boolean(),
  sees: fc.boolean(),
  inClub: fc.boolean(),
  shown: fc.boolean(),
  region: fc.constantFrom(null, 'XA-NO', 'XA-SO', 'XB-NO'),
});
const filters: fc.Arbitrary<FilterInput> = fc.record(
  {
    maxKinship: fc.constantFrom(0, 0.125, 0.25, 1),
    minKnownAncestry: fc.constantFrom(0, 0.5, 0.75),
    distances: fc.subarray([...DISTANCE_BANDS], { minLength: 1 }),
    onlyAvailable: fc.boolean(),
    sexKnownOnly: fc.boolean(),
    includeYoung: fc.boolean(),
    otherLines: fc.boolean(),
    on: fc.constantFrom(TODAY, addDays(TODAY, 10), addDays(TODAY, 300)),
  },
  { requiredKeys: [] },
);
const weights = fc.constantFrom(
  DEFAULT_WEIGHTS,
  fillWeights({ distance: 2, readiness: 1 }),
  fillWeights({ meanKinship: 1, geneDiversityChange: 3, offspringInbreeding: 1 }),
);

function apartOn(animals: readonly Animal[], when: 'today' | 'then'): Set<string> {
  return new Set(animals.flatMap(({ id, apart }) => (apart === when || apart === 'both' ? [id] : [])));
}

function numbersOf(animals: readonly Animal[]): MateNumbers {
  const index = new Map(animals.map(({ id }, i) => [id, i]));
  return {
    indexOf: (id) => index.get(id),
    numbering: animals,
    kinship: Float64Array.from(animals, (each) => each.kinship),
    meanKinship: Float64Array.from(animals, (each) => each.meanKinship),
    knownAncestry: Float64Array.from(animals, (each) => each.known),
    ownKnownAncestry: 1,
    parentless: () => false,
    geneDiversityChange: (i) => (0.1 - (animals[i]?.meanKinship ?? 0)) / 100,
    populationSize: 100,
  };
}

/** What a viewer reads of the birth of another's animal: its year, where that is sure. */
function yearOf({ earliest, latest }: DaySpan): DaySpan | null {
  const year = earliest?.slice(0, 4);
  if (year === undefined || latest?.slice(0, 4) !== year) return null;
  return { earliest: day(`${year}-01-01`), latest: day(`${year}-12-31`) };
}

/** The search as one would write it without a thought of speed. */
function naive(animals: readonly Animal[], question: MateQuestion): { id: string; score: number; adult: Answer }[] {
  const { filters: f, keepers } = question;
  const holdersOf = (lineId: string | null) =>
    new Set(
      animals.flatMap((each) =>
        each.lineId === lineId && each.holder !== null && keepers.get(each.holder)?.inClub === true
          ? [each.holder]
          : [],
      ),
    ).size;
  return animals
    .flatMap((mate) => {
      const around = [mate.holder, ...mate.owners].filter((id) => id !== null);
      const isOwn = around.some((id) => keepers.get(id)?.own === true);
      const sharing = [
        ...(mate.withheld ? [] : [mate.holder]),
        ...mate.owners.filter((id) => !mate.withholders.includes(id)),
      ];
      if (mate.id === question.animal.id || !(isOwn || sharing.some((id) => keepers.get(id ?? '')?.sees === true)))
        return [];
      if (question.animal.sex !== 'unknown' && mate.sex === question.animal.sex) return [];
      if (!f.otherLines && mate.lineId !== question.animal.lineId) return [];
      const view = mate.holder === null ? undefined : keepers.get(mate.holder);
      const day = (number: number | null) => (number === null ? null : addDays(TODAY, number - N));
      const shown =
        mate.holdings === null
          ? view?.shown
          : view?.own === true || (mate.holdings === 'club' && view?.inClub === true);
      const birth: DaySpan = { earliest: day(mate.bornEarliest), latest: day(mate.bornLatest) };
      const until = day(mate.openUntil);
      const figures = {
        sexKnown: mate.sex !== 'unknown',
        parentless: false,
        adult: isGrownUp(isOwn ? birth : yearOf(birth), { value: 365, min: 300 }, f.on),
        open: mate.open === null || (until !== null && until < f.on) ? null : mate.open,
        offspringInbreeding: mate.kinship,
        meanKinship: mate.meanKinship,
        knownAncestry: (1 + mate.known) / 2,
        geneDiversityChange: (0.1 - mate.meanKinship) / 100,
        distance: distanceBand(question.ownRegion, view?.region ?? null, shown ?? false, holdersOf(mate.lineId)),
      };
      const option =
        !mate.promised &&
        mate.apart !== 'then' &&
        mate.apart !== 'both' &&
        (isOwn || mate.apart !== 'today') &&
        (f.includeYoung || figures.adult !== 'no') &&
        (!f.sexKnownOnly || figures.sexKnown) &&
        (!f.onlyAvailable || figures.open === true) &&
        figures.offspringInbreeding <= f.maxKinship + 1e-9 &&
        figures.knownAncestry >= f.minKnownAncestry &&
        f.distances.includes(figures.distance);
      return option
        ? [
            {
              id: mate.id,
              registerNumber: mate.registerNumber,
              adult: figures.adult,
              score: scoreOf(figures, question.weights, 100),
            },
          ]
        : [];
    })
    .toSorted(compareMates);
}

describe('a search over packed candidates', () => {
  it('gives the list a plain one gives, page by page', () => {
    fc.assert(
      fc.property(
        fc.array(animal, { minLength: 1, maxLength: 25 }),
        fc.array(keeper, { minLength: KEEPERS.length, maxLength: KEEPERS.length }),
        filters,
        weights,
        fc.integer({ min: 1, max: 5 }),
        fc.nat({ max: 24 }),
        (rows, views, input, weigh, first, own) => {
          const animals: Animal[] = rows.map((row, i) => ({
            ...row,
            id: `a${i}`,
            registerNumber: `${(i * 7) % 25}`.padStart(2, '0'),
            owners: row.owners.filter((each) => each !== row.holder),
          }));
          const table = new CandidateTable();
          // Put in twice, with one that goes: what stays is the last word.
          for (const each of animals) table.put({ ...each, sex: 'unknown', holder: null, owners: [], lineId: 'north' });
          table.put({ ...(animals[0] as Animal), id: 'gone' });
          table.remove('gone');
          for (const each of animals) table.put(each);
          const asked = animals[own % animals.length] as Animal;
          const question: MateQuestion = {
            animal: asked,
            keepers: new Map(KEEPERS.map((id, i) => [id, views[i] as KeeperView])),
            ownRegion: 'XA-NO',
            maturity: { least: 300, typical: 365 },
            quarantined: apartOn(animals, 'then'),
            quarantinedToday: apartOn(animals, 'today'),
            filters: fillFilters(input, TODAY),
            weights: weigh,
            page: { first, afterId: null },
          };
          const expected = naive(animals, question);
          const numbers = numbersOf(animals);
          const got: { id: string; place: number; adult: Answer }[] = [];
          for (let after: string | null = null; ;) {
            const answer = searchMates(table, numbers, { ...question, page: { first, afterId: after } });
            expect(answer.total).toBe(expected.length);
            got.push(...(answer.found ?? []).slice(0, first));
            if ((answer.found?.length ?? 0) <= first) break;
            after = got.at(-1)?.id ?? null;
          }
          expect(got.map(({ id, adult }) => [id, adult])).toEqual(expected.map(({ id, adult }) => [id, adult]));
          expect(got.map(({ place }) => place)).toEqual(expected.map((_, i) => i + 1));
        },
      ),
    );
  });

  it('counts who is left out once, and says of an empty list what would help', () => {
    const base: Omit<CandidateRow, 'id' | 'registerNumber'> = {
      lineId: null,
      sex: 'male',
      bornEarliest: N - 1000,
      bornLatest: N - 1000,
      promised: false,
      holder: 'me',
      holdings: null,
      withheld: false,
      owners: [],
      withholders: [],
      open: null,
      openUntil: null,
    };
    const more: Animal[] = [
      {
        ...base,
        id: 'own',
        registerNumber: 'OWN',
        sex: 'female',
        kinship: 0.5,
        meanKinship: 0,
        known: 1,
        apart: 'no',
      },
      { ...base, id: 'a', registerNumber: '34679CDFG', kinship: 0.25, meanKinship: 0, known: 1, apart: 'no' },
      { ...base, id: 'b', registerNumber: '34679CDFH', kinship: 0.0625, meanKinship: 0, known: 1, apart: 'no' },
      { ...base, id: 'c', registerNumber: '34679CDFJ', kinship: 0.25, meanKinship: 0, known: 1, apart: 'both' },
      {
        ...base,
        id: 'd',
        registerNumber: '34679CDFK',
        lineId: 'x',
        kinship: 0,
        meanKinship: 0,
        known: 1,
        apart: 'no',
      },
    ];
    const table = new CandidateTable();
    for (const each of more) table.put(each);
    const me = { own: true, sees: true, inClub: true, shown: true, region: null };
    const ask = (input: FilterInput) => {
      const asked = fillFilters(input, TODAY);
      const answer = searchMates(table, numbersOf(more), {
        animal: more[0] as Animal,
        keepers: new Map([['me', me]]),
        ownRegion: null,
        maturity: null,
        quarantined: new Set(['c']),
        quarantinedToday: new Set(['c']),
        filters: asked,
        weights: DEFAULT_WEIGHTS,
        page: { first: 10, afterId: null },
      });
      return { answer, reasons: nearestReasons(answer, asked) };
    };
    const none = ask({ maxKinship: 0.05 });
    expect(none.answer.leftOut).toMatchObject({ other_line: 1, not_available: 1, too_related: 2 });
    expect(none.reasons.map(({ because, count }) => [because, count])).toEqual([
      ['other_line', 1],
      ['not_available', 1],
      ['too_related', 3],
    ]);
    expect(none.reasons[2]?.words).toBe(
      '3 animals are related more closely than 0.05. The least related is 346-79C-DFH at 0.0625; raise maxKinship to see it.',
    );
    expect(ask({ maxKinship: 0.0625 }).answer.found?.map(({ id }) => id)).toEqual(['b']);
    expect(ask({ maxKinship: 0.0625 }).reasons).toEqual([]);
    expect(ask({ otherLines: true, maxKinship: 0 }).answer.found?.map(({ id }) => id)).toEqual(['d']);
  });

  it('goes on after nobody who is not in the list', () => {
    const table = new CandidateTable();
    const answer = searchMates(table, numbersOf([]), {
      animal: { id: 'x', sex: 'male', lineId: null },
      keepers: new Map(),
      ownRegion: null,
      maturity: null,
      quarantined: new Set(),
      quarantinedToday: new Set(),
      filters: fillFilters({}, TODAY),
      weights: DEFAULT_WEIGHTS,
      page: { first: 1, afterId: 'y' },
    });
    expect(answer.found).toBeNull();
    expect(nearestReasons({ ...answer, found: [] }, fillFilters({}, TODAY)).map(({ because }) => because)).toEqual([
      'nobody',
    ]);
  });
});

it('age in day numbers is the age of the taxon’s rule', () => {
  const offset = fc.option(fc.integer({ min: -800, max: 0 }), { nil: null });
  fc.assert(
    fc.property(
      offset,
      offset,
      fc.integer({ min: 1, max: 800 }),
      fc.integer({ min: 1, max: 800 }),
      (a, b, least, typical) => {
        const at = (days: number | null): Day | null => (days === null ? null : addDays(TODAY, days));
        const number = (days: number | null): number => (days === null ? NO_DAY : N + days);
        expect(isAdult(number(a), number(b), { least, typical }, N)).toBe(
          isGrownUp({ earliest: at(a), latest: at(b) }, { min: least, value: typical }, TODAY),
        );
      },
    ),
  );
});
