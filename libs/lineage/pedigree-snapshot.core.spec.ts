import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { ancestorPlaces, buildSnapshot, extendSnapshot, type KnownParents, lineOf } from './pedigree-snapshot.core.js';

/** A pedigree in which each animal's parents, where known, stand before it. */
const pedigree = fc
  .array(fc.tuple(fc.option(fc.nat()), fc.option(fc.nat())), { minLength: 1, maxLength: 40 })
  .map((rows) =>
    rows.map(([sire, dam], i): KnownParents => {
      const pick = (value: number | null) => (value === null || i === 0 ? null : `a${value % i}`);
      return { id: `a${i}`, sireId: pick(sire), damId: pick(dam) };
    }),
  );

describe('extendSnapshot', () => {
  it('gives the same numbers as computing everything again', () => {
    fc.assert(
      fc.property(pedigree, fc.nat(), (animals, cut) => {
        const at = cut % animals.length;
        const extended = extendSnapshot(buildSnapshot(animals.slice(0, at), 1n), animals.slice(at), 2n);
        const whole = buildSnapshot(animals, 2n);
        expect(extended?.ids).toEqual(whole.ids);
        expect(extended?.version).toBe(2n);
        for (let i = 0; i < animals.length; i++) {
          expect(extended?.inbreeding[i]).toBeCloseTo(whole.inbreeding[i] ?? NaN, 12);
          expect(extended?.knownAncestry[i]).toBeCloseTo(whole.knownAncestry[i] ?? NaN, 12);
        }
      }),
    );
  });

  it('steps back where an animal that is known already changed, or a parent is not there yet', () => {
    const before = buildSnapshot([{ id: 'a', sireId: null, damId: null }], 1n);
    expect(extendSnapshot(before, [{ id: 'a', sireId: null, damId: null }], 2n)).toBeNull();
    expect(extendSnapshot(before, [{ id: 'b', sireId: 'z', damId: null }], 2n)).toBeNull();
  });
});

describe('buildSnapshot', () => {
  it('gives offspring of full sibs F = 1/4 (Wright 1922)', () => {
    const row = (id: string, sireId: string | null, damId: string | null): KnownParents => ({ id, sireId, damId });
    // The offspring stands first: the order of the rows does not matter.
    const snapshot = buildSnapshot(
      [row('x', 's', 'd'), row('s', 'p', 'q'), row('d', 'p', 'q'), row('p', null, null), row('q', null, null)],
      1n,
    );
    expect(snapshot.inbreeding[0]).toBe(0.25);
    expect(ancestorPlaces(snapshot, 'x', 2)).toEqual([
      { path: 's', id: 's' },
      { path: 'd', id: 'd' },
      { path: 'ss', id: 'p' },
      { path: 'sd', id: 'q' },
      { path: 'ds', id: 'p' },
      { path: 'dd', id: 'q' },
    ]);
    expect(ancestorPlaces(snapshot, 'nobody', 2)).toEqual([]);
  });

  it('will not compute with a cycle', () => {
    expect(() => buildSnapshot([{ id: 'a', sireId: 'a', damId: null }], 1n)).toThrow(RangeError);
  });
});

describe('lineOf', () => {
  it('gives the animal and everything above it, each once, and nothing beside', () => {
    const snapshot = buildSnapshot(
      [
        { id: 'f', sireId: null, damId: null },
        { id: 'm', sireId: null, damId: null },
        { id: 's', sireId: 'f', damId: 'm' },
        { id: 'd', sireId: 'f', damId: null },
        { id: 'x', sireId: 's', damId: 'd' },
        { id: 'sib', sireId: 's', damId: 'd' },
      ],
      1n,
    );
    expect(lineOf(snapshot, 'x').toSorted()).toEqual(['d', 'f', 'm', 's', 'x']);
    expect(lineOf(snapshot, 'f')).toEqual(['f']);
    expect(lineOf(snapshot, 'not in it')).toEqual(['not in it']);
  });
});
