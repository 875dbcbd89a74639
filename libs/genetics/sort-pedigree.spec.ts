import { describe, expect, it } from '@jest/globals';
import { sortPedigree } from './index.js';

const sort = (sire: number[], dam: number[]) => sortPedigree(Int32Array.from(sire), Int32Array.from(dam));

describe('sortPedigree', () => {
  it('puts parents first and otherwise keeps the order', () => {
    const sorted = sort([2, 3, -1, -1, 0], [3, -1, -1, -1, 1]);
    expect(sorted.kind === 'sorted' && [...sorted.pedigree.order]).toEqual([2, 3, 0, 1, 4]);
  });

  it('reports a cycle as each a child of the next', () => {
    expect(sort([1, -1, -1], [-1, 2, 0])).toEqual({ kind: 'cyclic', cycles: [[0, 1, 2]] });
  });

  it('reports an animal that is its own parent', () => {
    expect(sort([-1, 1], [0, -1])).toEqual({ kind: 'cyclic', cycles: [[0], [1]] });
  });

  it('reports separate cycles apart', () => {
    expect(sort([1, 0, 3, 2], [-1, -1, -1, -1])).toEqual({
      kind: 'cyclic',
      cycles: [
        [0, 1],
        [2, 3],
      ],
    });
  });

  it('allows one animal to be both parents', () => {
    expect(sort([-1, 0], [-1, 0]).kind).toBe('sorted');
  });

  it('stands a line of 200,000 generations written youngest first, and finds it closed to a ring', () => {
    const n = 200_000;
    const sire = Int32Array.from({ length: n }, (_, i) => (i + 1 < n ? i + 1 : -1));
    const dam = new Int32Array(n).fill(-1);
    const sorted = sortPedigree(sire, dam);
    expect(sorted.kind === 'sorted' && sorted.pedigree.order[0]).toBe(n - 1);
    sire[n - 1] = 0;
    const ring = sortPedigree(sire, dam);
    expect(ring.kind === 'cyclic' && ring.cycles.map((cycle) => cycle.length)).toEqual([n]);
  });

  it('refuses parents outside the pedigree', () => {
    expect(() => sort([7], [-1])).toThrow(RangeError);
    expect(() => sort([-2], [-1])).toThrow(RangeError);
    expect(() => sort([-1], [])).toThrow(RangeError);
  });
});
