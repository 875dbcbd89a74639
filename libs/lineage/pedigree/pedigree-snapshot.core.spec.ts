import { describe, expect, it } from '@jest/globals';
import { type PedigreeClaim } from './pedigree-builder.core.js';
import { ancestorPlaces, buildSnapshot, lineOf, possibleParents } from './pedigree-snapshot.core.js';
import { claim, id, record } from './pedigree-fixtures.js';

const family = (...rows: [child: string, sire: string | null, dam: string | null][]): PedigreeClaim[] =>
  rows.flatMap(([child, sire, dam]) => [
    ...(sire === null ? [] : [claim(child, 'sire', sire)]),
    ...(dam === null ? [] : [claim(child, 'dam', dam)]),
  ]);
const build = (names: string, claims: PedigreeClaim[]) =>
  buildSnapshot(
    [...names].map((name) => record(name)),
    claims,
    1n,
  );

describe('buildSnapshot', () => {
  it('gives offspring of full sibs F = 1/4 (Wright 1922)', () => {
    // The offspring stands first: the order of the rows does not matter.
    const snapshot = build('xsdpq', family(['x', 's', 'd'], ['s', 'p', 'q'], ['d', 'p', 'q']));
    expect(snapshot.inbreeding[0]).toBe(0.25);
    expect(ancestorPlaces(snapshot, id('x'), 2)).toEqual([
      { path: 's', id: id('s') },
      { path: 'd', id: id('d') },
      { path: 'ss', id: id('p') },
      { path: 'sd', id: id('q') },
      { path: 'ds', id: id('p') },
      { path: 'dd', id: id('q') },
    ]);
    expect(ancestorPlaces(snapshot, 'nobody', 2)).toEqual([]);
  });

  it('will not compute with a cycle', () => {
    expect(() => build('a', family(['a', 'a', null]))).toThrow(RangeError);
  });

  it('counts as a founder who is declared one and has no parent recorded, here or in another taxon', () => {
    const snapshot = buildSnapshot(
      [record('f', { declaredFounder: true }), record('u'), record('h', { declaredFounder: true }), record('x')],
      [...family(['x', 'f', 'u']), claim('h', 'sire', 'elsewhere')],
      1n,
    );
    expect([...snapshot.knownAncestry]).toEqual([1, 0, 0, 0.5]);
    expect([...snapshot.founder]).toEqual([1, 0, 0, 0]);
  });

  it('takes a merged record as another name of the animal it goes on in', () => {
    // k = m = n: one animal under three records; x is a child of m, y of k; m says the sire of k, who has a claim on the dam only.
    const snapshot = buildSnapshot(
      [
        record('k', { alive: true }),
        record('m', { alive: true, mergedIntoId: id('n') }),
        record('n', { mergedIntoId: id('k') }),
        ...[...'pqrxy'].map((name) => record(name)),
      ],
      [...family(['m', 'p', 'r'], ['k', null, 'q'], ['x', 'm', null], ['y', 'k', 'x']), claim('n', 'sire', 'r')],
      1n,
    );
    const k = snapshot.indexOf.get(id('k'));
    expect(snapshot.ids.length).toBe(6);
    expect([snapshot.indexOf.get(id('m')), snapshot.indexOf.get(id('n'))]).toEqual([k, k]);
    // Of the two merged records with a claim on the sire the one registered first counts.
    const sire = id('m') < id('n') ? 'p' : 'r';
    expect(lineOf(snapshot, id('m')).toSorted()).toEqual([id('k'), id(sire), id('q')].toSorted());
    // y is out of k and a child of k: F = (1 + F_k) / 4 (parent and offspring mated; Wright 1922).
    expect(snapshot.inbreeding[snapshot.indexOf.get(id('y')) ?? -1]).toBe(0.25);
    expect([...snapshot.alive].filter((flag) => flag === 1)).toHaveLength(1);
  });

  it('leaves a merge into nothing, and one that leads round, out', () => {
    const snapshot = buildSnapshot(
      [
        record('a', { mergedIntoId: id('b') }),
        record('b', { mergedIntoId: id('a') }),
        record('c', { mergedIntoId: id('z') }),
      ],
      family(['c', 'a', 'b']),
      1n,
    );
    expect(snapshot.ids.length).toBe(0);
    expect(snapshot.indexOf.get(id('a'))).toBeUndefined();
  });

  it('keeps candidates with their probabilities', () => {
    const third = 0.33333333;
    const snapshot = build('abcdx', [
      ...['a', 'b', 'c'].map((sire) => claim('x', 'sire', sire, third)),
      claim('x', 'dam', 'd'),
    ]);
    const x = snapshot.indexOf.get(id('x')) ?? -1;
    const { start, parent, probability } = snapshot.pedigree.sireCandidates ?? {
      start: [],
      parent: [],
      probability: [],
    };
    expect([start[x], start[x + 1]]).toEqual([0, 3]);
    expect([...parent].toSorted()).toEqual([0, 1, 2]);
    for (const share of probability) expect(share).toBeCloseTo(1 / 3, 12);
    expect(possibleParents(snapshot.pedigree, x)).toHaveLength(4);
  });

  it('leaves a parent unknown where one of the candidates is elsewhere, or they are not sure together', () => {
    const snapshot = build('abxyz', [
      claim('x', 'sire', 'a', 0.5),
      claim('x', 'sire', 'elsewhere', 0.5),
      claim('y', 'sire', 'a', 0.7),
      claim('z', 'dam', 'elsewhere'),
    ]);
    for (const name of 'xyz')
      expect(possibleParents(snapshot.pedigree, snapshot.indexOf.get(id(name)) ?? -1)).toEqual([]);
  });

  it('makes one certain parent of candidates that are one animal', () => {
    const snapshot = buildSnapshot(
      [record('a'), record('m', { mergedIntoId: id('a') }), record('x')],
      [claim('x', 'dam', 'a', 0.4), claim('x', 'dam', 'm', 0.6)],
      1n,
    );
    expect(snapshot.pedigree.dam[snapshot.indexOf.get(id('x')) ?? -1]).toBe(snapshot.indexOf.get(id('a')));
    expect(snapshot.pedigree.damCandidates).toBeUndefined();
  });

  it('computes development without a sire with the dam in both places', () => {
    const snapshot = build('dx', [
      claim('x', 'dam', 'd'),
      { ...claim('x', 'sire', 'd'), withoutSire: true, parentId: null },
    ]);
    const x = snapshot.indexOf.get(id('x')) ?? -1;
    expect(snapshot.pedigree.sire[x]).toBe(snapshot.indexOf.get(id('d')));
    // Offspring of one parent alone: F = (1 + F of the parent) / 2, as in selfing (Wright 1922).
    expect(snapshot.inbreeding[x]).toBe(0.5);
  });
});

describe('lineOf', () => {
  it('gives the animal and everything above it, each once, and nothing beside', () => {
    const snapshot = build('fmsdxi', family(['s', 'f', 'm'], ['d', 'f', null], ['x', 's', 'd'], ['i', 's', 'd']));
    expect(lineOf(snapshot, id('x')).toSorted()).toEqual([...'dfmsx'].map(id).toSorted());
    expect(lineOf(snapshot, id('f'))).toEqual([id('f')]);
    expect(lineOf(snapshot, 'not in it')).toEqual(['not in it']);
  });

  it('goes up through candidates too', () => {
    const snapshot = build('abpx', [
      claim('x', 'sire', 'a', 0.5),
      claim('x', 'sire', 'b', 0.5),
      claim('a', 'dam', 'p'),
    ]);
    expect(lineOf(snapshot, id('x')).toSorted()).toEqual([...'abpx'].map(id).toSorted());
  });
});
