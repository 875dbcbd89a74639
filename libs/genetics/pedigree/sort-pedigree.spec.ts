import { describe, expect, it } from '@jest/globals';
import { packCandidates, sortPedigree, type Candidate } from '../index.js';

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

describe('sortPedigree with several candidate parents', () => {
  type Lists = Record<number, Candidate[]>;
  const list = (...pairs: (readonly [parent: number, probability: number])[]): Candidate[] =>
    pairs.map(([parent, probability]) => ({ parent, probability }));
  const withCandidates = (sire: number[], dam: number[], sires: Lists, dams: Lists = {}) => {
    const pack = (lists: Lists) =>
      packCandidates(sire.length, new Map(Object.entries(lists).map(([animal, given]) => [Number(animal), given])));
    return sortPedigree(Int32Array.from(sire), Int32Array.from(dam), pack(sires), pack(dams));
  };
  const none = [-1, -1, -1, -1];

  it('puts candidates before the animal, sires and dams', () => {
    const sorted = withCandidates(none, none, { 0: list([2, 0.5], [3, 0.5]) }, { 2: list([1, 0.25], [3, 0.75]) });
    expect(sorted.kind === 'sorted' && [...sorted.pedigree.order]).toEqual([1, 3, 2, 0]);
  });

  it('finds cycles that lead through candidates and shows them', () => {
    const half = { 0: list([1, 0.5], [3, 0.5]), 1: list([2, 0.9], [3, 0.1]) };
    expect(withCandidates([-1, -1, 0, -1], none, half)).toEqual({ kind: 'cyclic', cycles: [[0, 1, 2]] });
    expect(withCandidates(none, none, {}, { 3: list([3, 0.5], [1, 0.5]) })).toEqual({ kind: 'cyclic', cycles: [[3]] });
  });

  it('takes a single candidate as a certain parent, beside lists that stay', () => {
    const lists = { 0: list([1, 1]), 2: list([1, 0.25], [3, 0.75]) };
    const sorted = withCandidates(none, none, lists, { 0: list([3, 1]) });
    if (sorted.kind !== 'sorted') throw new Error('cyclic');
    const { sire, dam, sireCandidates, damCandidates } = sorted.pedigree;
    expect([[...sire], [...dam], damCandidates]).toEqual([[1, -1, -1, -1], [3, -1, -1, -1], undefined]);
    expect(sireCandidates).toEqual({
      start: Int32Array.of(0, 0, 0, 2, 2),
      parent: Int32Array.of(1, 3),
      probability: Float64Array.of(0.25, 0.75),
    });
  });

  it.each([
    [
      'probabilities that do not sum to 1',
      { 0: list([1, 0.5], [2, 0.4]) },
      'animal 0 has sire candidates whose probabilities sum to 0.9, not 1',
    ],
    [
      'a probability of 0',
      { 0: list([1, 1], [2, 0]) },
      'animal 0 has the sire candidate 2 with probability 0, outside (0, 1]',
    ],
    [
      'no number as a probability',
      { 0: list([1, NaN]) },
      'animal 0 has the sire candidate 1 with probability NaN, outside (0, 1]',
    ],
    ['a candidate twice', { 0: list([1, 0.5], [1, 0.5]) }, 'animal 0 has the sire candidate 1 twice'],
    ['a candidate out of range', { 0: list([9, 0.5], [1, 0.5]) }, /^animal 0 has the sire candidate 9, outside 0 … 3/],
    ['an unknown candidate', { 0: list([-1, 0.5], [1, 0.5]) }, /^animal 0 has the sire candidate -1, outside 0 … 3/],
    [
      'a certain parent beside candidates',
      { 3: list([1, 0.5], [2, 0.5]) },
      'animal 3 has the certain sire 0 and sire candidates too',
    ],
    ['a list for nobody', { 7: list([1, 1]) }, 'candidates are given for animal 7, outside 0 … 3'],
  ])('refuses %s and names the animal', (_, sires, message) => {
    const call = () => withCandidates([-1, -1, -1, 0], none, sires);
    expect(call).toThrow(RangeError);
    expect(call).toThrow(message);
  });

  it('accepts thirds, which do not sum to 1 exactly, and refuses lists packed for another pedigree', () => {
    const thirds = list([1, 1 / 3], [2, 1 / 3], [3, 1 / 3]);
    expect(withCandidates(none, none, { 0: thirds }).kind).toBe('sorted');
    const packed = packCandidates(3, new Map());
    expect(() => sortPedigree(Int32Array.from(none), Int32Array.from(none), undefined, packed)).toThrow(
      'the dam candidates are not packed for 4 animals: use packCandidates',
    );
  });

  it('stands a line of 100,000 generations whose sires are all uncertain, and finds it closed to a ring', () => {
    const n = 100_000;
    const unknown = new Int32Array(n).fill(-1);
    const lists = new Map(Array.from({ length: n - 2 }, (_, i) => [i, list([i + 1, 0.5], [i + 2, 0.5])] as const));
    const sorted = sortPedigree(unknown, unknown, packCandidates(n, lists));
    expect(sorted.kind === 'sorted' && sorted.pedigree.order[n - 1]).toBe(0);
    lists.set(n - 2, list([0, 0.5], [n - 1, 0.5]));
    const ring = sortPedigree(unknown, unknown, packCandidates(n, lists));
    expect(ring.kind === 'cyclic' && ring.cycles[0]?.length).toBe(n - 1);
  });
});
