import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { kinship } from '../../genetics/index.js';
import { kinshipOfPair } from './kinship-of-pair.core.js';
import { type PedigreeClaim } from './pedigree-builder.core.js';
import { claim, id, record } from './pedigree-fixtures.js';
import { type AnimalNews, inOrderOfBirth, withNews } from './pedigree-growth.core.js';
import { buildSnapshot, type PedigreeSnapshot } from './pedigree-snapshot.core.js';

/** Parents of one animal as numbers of earlier animals: none, one, or two that are equally likely. */
const parents = fc.array(fc.nat(), { maxLength: 2 });
const animal = fc.record({
  sires: parents,
  dams: parents,
  withoutSire: fc.integer({ min: 0, max: 9 }).map((n) => n === 0),
  alive: fc.boolean(),
  founder: fc.boolean(),
});
type Animal = typeof animal extends fc.Arbitrary<infer T> ? T : never;

const name = (i: number) => `a${i}`;
const among = (picks: number[], i: number) => (i === 0 ? [] : [...new Set(picks.map((pick) => pick % i))]);

function newsOf(each: Animal, i: number, more: Partial<AnimalNews> = {}): AnimalNews {
  const [sires, dams] = [each.withoutSire ? [] : among(each.sires, i), among(each.dams, i)];
  const candidates = (picks: number[]) =>
    picks.map((pick) => ({ parentId: id(name(pick)), probability: 1 / picks.length, inside: true }));
  return {
    id: id(name(i)),
    inLineage: true,
    present: true,
    alive: each.alive,
    declaredFounder: each.founder,
    mergedIntoId: null,
    claims: [
      ...(sires.length > 0 || each.withoutSire
        ? [{ role: 'sire' as const, withoutSire: each.withoutSire, candidates: candidates(sires) }]
        : []),
      ...(dams.length > 0 ? [{ role: 'dam' as const, withoutSire: false, candidates: candidates(dams) }] : []),
    ],
    ...more,
  };
}

/** From scratch what the news say. */
function whole(news: readonly AnimalNews[]): PedigreeSnapshot {
  return buildSnapshot(
    news.map(({ id, alive, declaredFounder, mergedIntoId }) => ({ id, alive, declaredFounder, mergedIntoId })),
    news.flatMap(({ id: childId, claims }) =>
      claims.flatMap(({ role, withoutSire, candidates }): PedigreeClaim[] => {
        const said = { childId, role, withoutSire };
        if (candidates.length === 0) return [{ ...said, parentId: null, probability: 1 }];
        return candidates.map(({ parentId, probability }) => ({ ...said, parentId, probability }));
      }),
    ),
    1n,
  );
}

function expectSame(grown: PedigreeSnapshot, expected: PedigreeSnapshot): void {
  const n = expected.ids.length;
  expect(grown.ids.length).toBe(n);
  for (let i = 0; i < n; i++) {
    const k = grown.indexOf.get(expected.ids.at(i) ?? '') ?? -1;
    expect(grown.inbreeding[k]).toBeCloseTo(expected.inbreeding[i] ?? NaN, 12);
    expect(grown.knownAncestry[k]).toBeCloseTo(expected.knownAncestry[i] ?? NaN, 12);
    if (expected.sampling !== undefined) expect(grown.sampling?.[k]).toBeCloseTo(expected.sampling[i] ?? NaN, 12);
    expect([grown.alive[k], grown.founder[k]]).toEqual([expected.alive[i], expected.founder[i]]);
  }
  expect([...grown.pedigree.order].toSorted((a, b) => a - b)).toEqual(Array.from({ length: n }, (_, i) => i));
}

function grow(before: PedigreeSnapshot, news: readonly AnimalNews[]): PedigreeSnapshot {
  return news.reduce((snapshot, each) => {
    const next = withNews(snapshot, each);
    if (next === null) throw new Error('It steps back.');
    return next;
  }, before);
}

describe('withNews', () => {
  it('gives for births, in whatever order they come, the numbers of computing everything again', () => {
    fc.assert(
      fc.property(
        fc.array(animal, { minLength: 1, maxLength: 40 }),
        fc.nat(),
        fc.boolean(),
        (animals, cut, reversed) => {
          const news = animals.map((each, i) => newsOf(each, i));
          const at = cut % animals.length;
          const births = inOrderOfBirth(reversed ? news.slice(at).toReversed() : news.slice(at));
          const before = whole(news.slice(0, at));
          const [ids, f] = [before.ids.length, [...before.inbreeding]];
          expectSame(grow(before, births ?? []), whole(news));
          // What was handed out does not change.
          expect([before.ids.length, [...before.inbreeding]]).toEqual([ids, f]);
          for (const { id } of news.slice(at)) expect(before.indexOf.get(id)).toBeUndefined();
        },
      ),
    );
  });

  it('gives for any change to an animal the numbers of computing everything again, or steps back', () => {
    let grown = 0;
    fc.assert(
      fc.property(fc.array(animal, { minLength: 2, maxLength: 12 }), animal, fc.nat(), (animals, change, pick) => {
        const news = animals.map((each, i) => newsOf(each, i));
        const i = pick % animals.length;
        const changed = newsOf(change, i);
        const before = whole(news);
        const [order, alive] = [[...before.pedigree.order], [...before.alive]];
        const after = withNews(before, changed);
        expect([[...before.pedigree.order], [...before.alive]]).toEqual([order, alive]);
        if (after === null) return;
        grown += 1;
        expectSame(after, whole(news.map((each, k) => (k === i ? changed : each))));
      }),
    );
    expect(grown).toBeGreaterThan(10);
  });

  const calf = (more: Partial<AnimalNews> = {}): AnimalNews => ({
    id: id('x'),
    inLineage: true,
    present: true,
    alive: true,
    declaredFounder: false,
    mergedIntoId: null,
    claims: [],
    ...more,
  });
  const sire = (parent: string, inside = true) => ({
    role: 'sire' as const,
    withoutSire: false,
    candidates: [{ parentId: id(parent), probability: 1, inside }],
  });
  const herd = () =>
    buildSnapshot([record('a'), record('m', { mergedIntoId: id('a') }), record('b')], [claim('b', 'sire', 'a')], 1n);

  it('steps back from merges and their undoing, from animals that went to another taxon, and from a parent not there', () => {
    expect(withNews(herd(), calf({ mergedIntoId: id('a') }))).toBeNull();
    expect(withNews(herd(), calf({ id: id('b'), mergedIntoId: id('a'), inLineage: false }))).toBeNull();
    expect(withNews(herd(), calf({ id: id('b'), present: false }))).toBeNull();
    expect(withNews(herd(), calf({ id: id('m'), inLineage: false }))).toBeNull();
    expect(withNews(herd(), calf({ id: id('a'), claims: [sire('b')] }))).toBeNull();
    expect(withNews(herd(), calf({ claims: [sire('z')] }))).toBeNull();
  });

  it('takes a parent of another taxon as unknown, and a parent under its merged id as the animal it is', () => {
    const hybrid = withNews(herd(), calf({ claims: [sire('z', false)], declaredFounder: true }));
    expect([hybrid?.pedigree.sire[2], hybrid?.knownAncestry[2], hybrid?.founder[2]]).toEqual([-1, 0, 0]);
    const child = withNews(herd(), calf({ claims: [sire('m')] }));
    expect(child?.pedigree.sire[2]).toBe(child?.indexOf.get(id('a')));
  });

  it('passes over the fate of a merged record, and what was never here', () => {
    const before = herd();
    expect(withNews(before, calf({ id: id('m'), mergedIntoId: id('a'), inLineage: false, alive: false }))).toBe(before);
    expect(withNews(before, calf({ present: false, inLineage: false }))).toBe(before);
  });

  it('steps back rather than write over what a snapshot taken later shows', () => {
    const before = herd();
    const grown = withNews(before, calf());
    expect(grown?.ids.length).toBe(3);
    expect(withNews(before, calf({ id: id('y') }))).toBeNull();
  });
});

describe('inOrderOfBirth', () => {
  it('gives up on animals that descend from each other', () => {
    const parent = (of: string, parentOf: string): AnimalNews => ({
      id: id(of),
      inLineage: true,
      present: true,
      alive: true,
      declaredFounder: false,
      mergedIntoId: null,
      claims: [
        { role: 'dam', withoutSire: false, candidates: [{ parentId: id(parentOf), probability: 1, inside: true }] },
      ],
    });
    expect(inOrderOfBirth([parent('a', 'b'), parent('b', 'a')])).toBeNull();
    expect(inOrderOfBirth([parent('a', 'b'), parent('b', 'c')])?.map((each) => each.id)).toEqual([id('b'), id('a')]);
  });
});

describe('kinshipOfPair', () => {
  it('is the kinship in the whole pedigree, whichever of the two were born since, also over many new generations', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(), fc.nat()), { minLength: 3, maxLength: 30 }), fc.nat(), (rows, cut) => {
        const news = rows.map(([sire, dam], i) =>
          newsOf({ sires: [sire], dams: [dam], withoutSire: false, alive: true, founder: false }, i),
        );
        const before = whole(news.slice(0, 1 + (cut % news.length)));
        kinshipOfPair(before, 0, 0); // made ready here
        const grown = grow(before, news.slice(before.ids.length));
        const n = grown.ids.length;
        for (const [a, b] of [
          [n - 1, n - 2],
          [0, n - 1],
          [n - 1, n - 1],
          [n - 2, Math.floor(n / 2)],
        ] as const)
          expect(kinshipOfPair(grown, a, b)).toBeCloseTo(kinship(grown.pedigree, grown.inbreeding, a, b), 12);
      }),
    );
  });

  it('does not take long over a line of brother-sister matings that is all new', () => {
    const before = whole([newsOf({ sires: [], dams: [], withoutSire: false, alive: true, founder: true }, 0)]);
    kinshipOfPair(before, 0, 0);
    const line = Array.from({ length: 200 }, (_, k) => {
      const [sire, dam] = k < 3 ? [[], []] : [[(k & ~1) - 2 + 1], [(k & ~1) - 1 + 1]];
      return newsOf({ sires: sire, dams: dam, withoutSire: false, alive: true, founder: false }, k + 1);
    });
    const grown = grow(before, line);
    const expected = whole([
      newsOf({ sires: [], dams: [], withoutSire: false, alive: true, founder: true }, 0),
      ...line,
    ]);
    expectSame(grown, expected);
    expect(grown.inbreeding[200]).toBeGreaterThan(0.9);
  });
});
