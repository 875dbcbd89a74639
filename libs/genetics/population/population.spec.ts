import { describe, expect, it } from '@jest/globals';
import {
  effectiveAncestors,
  founderContributions,
  founderEquivalents,
  founderEquivalentsKnownOnly,
  founderGenomeEquivalents,
  geneDiversity,
  groupMean,
  inbreeding,
  kinship,
  kinshipWithAll,
  meanKinship,
  sortPedigree,
  type Pedigree,
} from '../index.js';

function pedigree(sire: number[], dam: number[]): Pedigree {
  const sorted = sortPedigree(Int32Array.from(sire), Int32Array.from(dam));
  if (sorted.kind === 'cyclic') throw new Error('cyclic');
  return sorted.pedigree;
}

describe('kinship', () => {
  // Half of the relationship matrix of Mrode 2005, Table 2.1, row of animal 5.
  it('of one animal with all, itself included', () => {
    const mrode = pedigree([-1, -1, 0, 0, 3, 4], [-1, -1, 1, -1, 2, 1]);
    const f = inbreeding(mrode);
    expect([...kinshipWithAll(mrode, f, 4)]).toEqual([0.25, 0.125, 0.3125, 0.3125, 0.5625, 0.34375]);
    expect(kinship(mrode, f, 5, 4)).toBe(0.34375);
  });

  it('refuses the mean over nobody', () => {
    const one = pedigree([-1], [-1]);
    expect(() => meanKinship(one, inbreeding(one), new Uint8Array(1))).toThrow('the reference group has no members');
  });
});

describe('a population', () => {
  it('of k offspring of one pair holds 1/(2 · mean kinship) founder genomes, below 1 where it is very inbred', () => {
    const twins = pedigree([-1, -1, 0, 0], [-1, -1, 1, 1]);
    const group = Uint8Array.of(0, 0, 1, 1);
    const mean = groupMean(meanKinship(twins, inbreeding(twins), group), group);
    expect(mean).toBe(0.375); // own 1/2, the other 1/4
    expect(geneDiversity(mean)).toBe(0.625);
    expect(founderGenomeEquivalents(mean)).toBeCloseTo(4 / 3, 12);

    const selfed = pedigree([-1, 0, 1], [-1, 0, 1]);
    const last = Uint8Array.of(0, 0, 1);
    expect(founderGenomeEquivalents(groupMean(meanKinship(selfed, inbreeding(selfed), last), last))).toBe(1 / 1.75);
  });

  it('counts the unknown parent of a half-known animal as a founder, or leaves it out', () => {
    const half = pedigree([-1, -1, 0, 0], [-1, -1, 1, -1]);
    const contributions = founderContributions(half, Uint8Array.of(0, 0, 1, 1));
    expect([...contributions.founder]).toEqual([0.5, 0.25, 0, 0]);
    expect([...contributions.unknownDam]).toEqual([0, 0, 0, 0.25]);
    expect([...contributions.unknownSire]).toEqual([0, 0, 0, 0]);
    expect(founderEquivalents(contributions)).toBeCloseTo(1 / 0.375, 12);
    expect(founderEquivalentsKnownOnly(contributions)).toBeCloseTo(0.5625 / 0.3125, 12);
  });

  it('that went through one animal has few effective ancestors', () => {
    // Four grandparents, two parents, a brood of two: all of it passes through the two parents.
    const brood = pedigree([-1, -1, -1, -1, 0, 2, 4, 4], [-1, -1, -1, -1, 1, 3, 5, 5]);
    const group = Uint8Array.of(0, 0, 0, 0, 0, 0, 1, 1);
    expect(founderEquivalents(founderContributions(brood, group))).toBe(4);
    expect(effectiveAncestors(brood, group)).toBe(2);
  });

  it('whose members are founders has as many effective ancestors', () => {
    const founders = pedigree([-1, -1, -1], [-1, -1, -1]);
    expect(effectiveAncestors(founders, Uint8Array.of(1, 1, 1))).toBeCloseTo(3, 12);
  });

  it('counts the unknown parents among the ancestors', () => {
    // Two half siblings by a known sire, each with an unknown dam: 1/2 from him, 1/4 from each of them.
    const half = pedigree([-1, 0, 0], [-1, -1, -1]);
    expect(effectiveAncestors(half, Uint8Array.of(0, 1, 1))).toBeCloseTo(1 / (0.25 + 2 * 0.0625), 12);
  });

  it('may have members as ancestors', () => {
    expect(effectiveAncestors(pedigree([-1, 0], [-1, -1]), Uint8Array.of(0, 1))).toBe(1);
  });
});
