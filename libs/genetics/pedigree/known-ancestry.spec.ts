import { describe, expect, it } from '@jest/globals';
import { knownAncestry, packCandidates, sortPedigree } from '../index.js';

/** Values by hand from the definition (declared founder 1, unknown parent 0, otherwise the mean of the parents). */
describe('knownAncestry', () => {
  const pedigreeOf = (sire: number[], dam: number[], ...candidates: ReturnType<typeof packCandidates>[]) => {
    const sorted = sortPedigree(Int32Array.from(sire), Int32Array.from(dam), ...candidates);
    if (sorted.kind === 'cyclic') throw new Error('cyclic');
    return sorted.pedigree;
  };
  // 2 is a child of 0 and 1, 3 of 0 and somebody unknown, 4 of 2 and 3.
  const family = pedigreeOf([-1, -1, 0, 0, 2], [-1, -1, 1, -1, 3]);

  it('takes every animal without parents for a founder when no founders are declared', () => {
    expect([...knownAncestry(family)]).toEqual([1, 1, 1, 0.5, 0.75]);
  });

  it('counts an animal without parents that is no declared founder as unknown origin', () => {
    expect([...knownAncestry(family, Uint8Array.of(1, 0, 0, 0, 0))]).toEqual([1, 0, 0.5, 0.5, 0.5]);
    expect([...knownAncestry(family, new Uint8Array(5))]).toEqual([0, 0, 0, 0, 0]);
  });

  it('does not look at the flag of an animal with a recorded parent', () => {
    expect(knownAncestry(family, Uint8Array.of(1, 1, 1, 1, 1))[3]).toBe(0.5);
  });

  it('averages over candidates by their probability', () => {
    const sires = packCandidates(
      5,
      new Map([
        [
          4,
          [
            { parent: 0, probability: 0.75 },
            { parent: 3, probability: 0.25 },
          ],
        ],
      ]),
    );
    const uncertain = pedigreeOf([-1, -1, 0, 0, -1], [-1, -1, 1, -1, 1], sires);
    expect([...knownAncestry(uncertain)]).toEqual([1, 1, 1, 0.5, 0.5 * (0.75 + 0.25 * 0.5) + 0.5]);
    expect(knownAncestry(uncertain, Uint8Array.of(1, 0, 0, 0, 0))[4]).toBe(0.5 * (0.75 + 0.25 * 0.5));
  });

  it('refuses flags for another number of animals', () => {
    expect(() => knownAncestry(family, new Uint8Array(4))).toThrow('4 founder flags for 5 animals');
  });
});
