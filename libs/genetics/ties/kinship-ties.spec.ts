import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { inbreeding, kinship, kinshipTies, mendelianSamplings, relationshipWords, type Pedigree } from '../index.js';
import { certainWorld, pedigreeOf, pedigreeOfPairs, uncertainWorld } from '../pedigree/pedigree-worlds.js';

const certain = fc.array(fc.nat(), { minLength: 1, maxLength: 40 }).map(certainWorld);
const uncertain = fc.array(fc.nat(), { minLength: 1, maxLength: 30 }).map(uncertainWorld);

const founder = [-1, -1] as const;

/** A family written as `name:sire,dam` with the names in any order after their parents; `?` = not known. */
function family(written: string) {
  const rows = written
    .trim()
    .split(/\s+/)
    .map((row) => row.split(/[:,]/));
  const names = rows.map(([name]) => name ?? '');
  const number = (name: string | undefined): number => (name === undefined || name === '?' ? -1 : names.indexOf(name));
  const pedigree = pedigreeOfPairs(rows.map(([, sire, dam]) => [number(sire), number(dam)] as const));
  const f = inbreeding(pedigree);
  return {
    names,
    ties: (a: string, b: string) => kinshipTies(pedigree, f, number(a), number(b)),
    words: (a: string, b: string) => relationshipWords(kinshipTies(pedigree, f, number(a), number(b))).phrase,
  };
}

const SIBLINGS = 'A B C:A,B D:A,B';

describe('kinshipTies', () => {
  it('splits the kinship of full siblings over sire and dam, one tie', () => {
    const { ties, names } = family(SIBLINGS);
    const result = ties('C', 'D');
    expect(result.kinship).toBe(0.25);
    expect(result.rest).toBe(0);
    expect(result.ties).toEqual([
      {
        kind: 'collateral',
        generationsA: 1,
        generationsB: 1,
        ancestors: [names.indexOf('A'), names.indexOf('B')],
        full: true,
        sharedParent: null,
        throughA: 'both',
        throughB: 'both',
        probability: 1,
        fullProbability: 0,
        contribution: 0.25,
      },
    ]);
    expect(result.sharedAncestors).toEqual([
      { animal: 0, generationsA: 1, generationsB: 1, contribution: 0.125, share: 0.5 },
      { animal: 1, generationsA: 1, generationsB: 1, contribution: 0.125, share: 0.5 },
    ]);
  });

  it('gives siblings their share through sire and dam however deep the pedigree above', () => {
    const shallow = family(SIBLINGS).ties('C', 'D');
    const deep = family('P Q R S A:P,Q B:R,S C:A,B D:A,B').ties('C', 'D');
    expect(deep.sharedAncestors.map(({ share }) => share)).toEqual(shallow.sharedAncestors.map(({ share }) => share));
  });

  it('counts the inbreeding of the shared ancestor (Wright 1922: (1/2)^3 · (1 + F))', () => {
    // I is inbred by 1/4, sire of the half siblings X and Y.
    const { ties } = family('A B C:A,B D:A,B I:C,D M N X:I,M Y:I,N');
    expect(ties('X', 'Y').sharedAncestors).toEqual([
      { animal: 4, generationsA: 1, generationsB: 1, contribution: 0.125 * 1.25, share: 1 },
    ]);
  });

  it('tells descent through which parent', () => {
    const { ties } = family('G H C:G,H M X:M,C');
    expect(ties('G', 'X').ties[0]).toMatchObject({
      kind: 'descent',
      generationsA: 0,
      generationsB: 2,
      throughA: null,
      throughB: 'dam',
      full: false,
    });
  });

  it('takes an animal and itself as one, and strangers as none', () => {
    const { ties } = family('A B C:A,A');
    expect(ties('C', 'C')).toMatchObject({ kinship: 0.75, rest: 0, ties: [{ kind: 'same', ancestors: [2] }] });
    expect(ties('A', 'B')).toEqual({ kinship: 0, ties: [], sharedAncestors: [], rest: 0 });
  });

  it('refuses an animal that is not there', () => {
    const pedigree = pedigreeOfPairs([founder]);
    expect(() => kinshipTies(pedigree, inbreeding(pedigree), 0, 1)).toThrow('there is no animal 1 in a pedigree of 1');
  });

  it('has contributions that sum to the kinship, on any pedigree, uncertain parents included', () => {
    const check = (pedigree: Pedigree): void => {
      const f = inbreeding(pedigree);
      const sampling = mendelianSamplings(pedigree, f);
      const last = pedigree.order.length - 1;
      for (const other of [0, last >> 1, last - 1, last].filter((i) => i >= 0)) {
        const result = kinshipTies(pedigree, f, last, other, sampling);
        expect(result.kinship).toBeCloseTo(kinship(pedigree, f, last, other, sampling), 12);
        const sum = (list: readonly { contribution: number }[]) => list.reduce((all, one) => all + one.contribution, 0);
        expect(sum(result.ties) + result.rest).toBeCloseTo(result.kinship, 12);
        expect(sum(result.sharedAncestors) + result.rest).toBeCloseTo(result.kinship, 12);
        expect(result.ties.every((tie) => tie.probability > 0 && tie.probability <= 1)).toBe(true);
        expect(result.rest).toBeGreaterThanOrEqual(0);
      }
    };
    fc.assert(fc.property(certain, (world) => check(pedigreeOf(world))));
    fc.assert(fc.property(uncertain, (world) => check(pedigreeOf(world))));
  });

  it('tells b and a what it tells a and b', () => {
    fc.assert(
      fc.property(certain, (world) => {
        const pedigree = pedigreeOf(world);
        const f = inbreeding(pedigree);
        const last = pedigree.order.length - 1;
        const [there, back] = [kinshipTies(pedigree, f, last, 0), kinshipTies(pedigree, f, 0, last)];
        const turned = back.ties.map(({ generationsA, generationsB, throughA, throughB, ...tie }) => ({
          ...tie,
          generationsA: generationsB,
          generationsB: generationsA,
          throughA: throughB,
          throughB: throughA,
        }));
        expect(turned).toEqual(there.ties);
      }),
    );
  });

  it('stays within bounds on 10,000 generations of full siblings, and says what it left', () => {
    const pedigree = pedigreeOfPairs(
      Array.from({ length: 20_000 }, (_, i) => (i < 2 ? founder : ([i - 2 - (i % 2), i - 1 - (i % 2)] as const))),
    );
    const f = inbreeding(pedigree);
    const started = performance.now();
    const result = kinshipTies(pedigree, f, 19_998, 19_999);
    expect(performance.now() - started).toBeLessThan(10_000);
    expect(result.kinship).toBeCloseTo(1, 9);
    const total = result.ties.reduce((sum, tie) => sum + tie.contribution, 0);
    expect(total + result.rest).toBeCloseTo(result.kinship, 9);
    expect(total).toBeGreaterThan(0.9);
    expect(relationshipWords(result).phrase).toMatch(/^full siblings, first cousins, .+ more distant ties$/);
  });

  it('looks at no more than it is allowed, nearest first', () => {
    const pedigree = pedigreeOfPairs([founder, founder, [0, 1], [0, 1], [2, 3], [2, 3]]);
    const all = kinshipTies(pedigree, inbreeding(pedigree), 4, 5);
    const few = kinshipTies(pedigree, inbreeding(pedigree), 4, 5, undefined, 0);
    expect([all.rest, few.rest]).toEqual([0, 0.375]);
  });

  it('follows a line of 1,000 generations to its end', () => {
    const line = pedigreeOfPairs(Array.from({ length: 1_001 }, (_, i) => [i - 1, -1] as const));
    const result = kinshipTies(line, inbreeding(line), 0, 1_000);
    expect(result.ties.map(({ kind, generationsB }) => [kind, generationsB])).toEqual([['descent', 1_000]]);
    expect(relationshipWords(result).b).toBe('998-times-great-grandchild');
  });
});

describe('relationship in words', () => {
  it.each([
    ['parent and offspring', SIBLINGS, 'A', 'C'],
    ['offspring and parent', SIBLINGS, 'C', 'A'],
    ['full siblings', SIBLINGS, 'C', 'D'],
    ['the same animal', SIBLINGS, 'C', 'C'],
    ['no shared ancestor known', SIBLINGS, 'A', 'B'],
    ['half siblings through the dam', 'A B C D:A,C E:B,C', 'D', 'E'],
    ['half siblings through the sire', 'A B C D:A,B E:A,C', 'D', 'E'],
    ['half siblings', 'A B C D:A,B E:C,A', 'D', 'E'], // a hermaphrodite: sire of one, dam of the other
    ['half siblings through the sire', 'A D:A,? E:A,?', 'D', 'E'],
    ['full siblings', 'A D:A,A E:A,A', 'D', 'E'], // both by selfing
    ['grandparent and grandchild', 'A B C:A,B M X:C,M', 'A', 'X'],
    ['great-grandparent and great-grandchild', 'A C:A,? D:C,? X:D,?', 'A', 'X'],
    ['great-great-grandchild and great-great-grandparent', 'A C:A,? D:C,? E:D,? X:E,?', 'X', 'A'],
    ['3-times-great-grandparent and 3-times-great-grandchild', 'A C:A,? D:C,? E:D,? G:E,? X:G,?', 'A', 'X'],
    ['aunt or uncle and niece or nephew', `${SIBLINGS} M X:C,M`, 'D', 'X'],
    ['great-niece or great-nephew and great-aunt or great-uncle', `${SIBLINGS} M X:C,M Y:X,?`, 'Y', 'D'],
    ['half-aunt or half-uncle and half-niece or half-nephew', 'A B B2 C:A,B D:A,B2 M X:C,M', 'D', 'X'],
    ['first cousins', `${SIBLINGS} M N X:C,M Y:D,N`, 'X', 'Y'],
    ['half first cousins', 'A B B2 C:A,B D:A,B2 M N X:C,M Y:D,N', 'X', 'Y'],
    ['double first cousins', 'A B C D E:A,B F:A,B G:C,D H:C,D X:E,G Y:F,H', 'X', 'Y'],
    ['double half first cousins', 'A B B2 C D D2 E:A,B F:A,B2 G:C,D H:C,D2 X:E,G Y:F,H', 'X', 'Y'],
    ['first cousins once removed', `${SIBLINGS} X:C,? Y:D,? Z:Y,?`, 'X', 'Z'],
    ['second cousins', `${SIBLINGS} X:C,? Y:D,? P:X,? Q:Y,?`, 'P', 'Q'],
    ['second cousins twice removed', `${SIBLINGS} X:C,? Y:D,? P:X,? Q:Y,? R:Q,? S:R,?`, 'P', 'S'],
    ['half siblings through the dam, and first cousins', `${SIBLINGS} M G:C,M H:D,M`, 'G', 'H'],
    ['full siblings, and first cousins', `${SIBLINGS} X:C,D Y:C,D`, 'X', 'Y'],
    ['parent and offspring, and grandparent and grandchild', 'A B C:A,B X:A,C', 'A', 'X'],
    ['parent and offspring, and aunt or uncle and niece or nephew', `${SIBLINGS} X:C,D`, 'C', 'X'],
    ['grandparent and grandchild twice over', 'A B B2 C:A,B D:A,B2 X:C,D', 'A', 'X'],
    ['half siblings through the sire, and half first cousins', 'A B B2 C:A,B D:A,B2 S X:S,C Y:S,D', 'X', 'Y'],
    ['parent and offspring, and half siblings through the sire', 'S A C:S,A D:S,C', 'C', 'D'],
  ])('%s', (phrase, written, a, b) => {
    expect(family(written).words(a, b)).toBe(phrase);
  });

  it('uses the words of a sex where it is told', () => {
    const pedigree = pedigreeOfPairs([founder, founder, [0, 1], [0, 1], [2, -1]]);
    const f = inbreeding(pedigree);
    const words = (a: number, b: number, ...[of, to]: ('male' | 'female' | null)[]) =>
      relationshipWords(kinshipTies(pedigree, f, a, b), { a: of ?? null, b: to ?? null });
    expect(words(0, 2, 'male', 'female').phrase).toBe('sire and daughter');
    expect(words(1, 2, 'female', 'male').phrase).toBe('dam and son');
    expect(words(2, 3, 'female', 'female').phrase).toBe('full sisters');
    expect(words(2, 3, 'male', 'male').phrase).toBe('full brothers');
    expect(words(2, 3, 'male', 'female')).toEqual({ phrase: 'full siblings', a: 'full brother', b: 'full sister' });
    expect(words(3, 4, 'female').phrase).toBe('aunt and niece or nephew');
    expect(words(0, 4, 'male', 'female')).toEqual({
      phrase: 'grandsire and granddaughter',
      a: 'grandsire',
      b: 'granddaughter',
    });
  });

  it('says "possibly" of ties that rest on candidates', () => {
    // 3 is of 0 or 1 (equally likely), 4 of 0, both of the dam 2; 5 of 0 and another dam; 6 the young of 3.
    const half = [
      { parent: 0, probability: 0.5 },
      { parent: 1, probability: 0.5 },
    ];
    const pedigree = pedigreeOf({
      sire: [-1, -1, -1, -1, 0, 0, 3],
      dam: [-1, -1, -1, 2, 2, -1, -1],
      sires: new Map([[3, half]]),
      dams: new Map(),
    });
    const f = inbreeding(pedigree);
    const words = (a: number, b: number) => relationshipWords(kinshipTies(pedigree, f, a, b)).phrase;
    expect(words(3, 4)).toBe('half siblings through the dam (or full siblings)');
    expect(words(3, 5)).toBe('possibly half siblings through the sire');
    expect(words(0, 3)).toBe('possibly parent and offspring');
    expect(words(0, 6)).toBe('possibly grandparent and grandchild');
    expect(words(4, 6)).toBe(
      'half-aunt or half-uncle and half-niece or half-nephew (or aunt or uncle and niece or nephew)',
    );
    const [tie] = kinshipTies(pedigree, f, 3, 4).ties;
    expect([tie?.probability, tie?.fullProbability, tie?.sharedParent]).toEqual([1, 0.5, 'dam']);
    expect(kinshipTies(pedigree, f, 0, 6).ties[0]?.probability).toBe(0.5);
  });
});
