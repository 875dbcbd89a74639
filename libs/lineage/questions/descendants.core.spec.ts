import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { inbreeding, packCandidates, type Pedigree, relationshipProduct, sortPedigree } from '../../genetics/index.js';
import { descendantFinder, descendantPager, type Descendants } from './descendants.core.js';

type Row = { sire: readonly [number, number][]; dam: readonly [number, number][] };

function toPedigree(rows: readonly Row[]): Pedigree {
  const single = (side: 'sire' | 'dam') =>
    Int32Array.from(rows, (row) => (row[side].length === 1 ? (row[side][0]?.[0] ?? -1) : -1));
  const several = (side: 'sire' | 'dam') =>
    packCandidates(
      rows.length,
      new Map(
        rows.flatMap((row, i) =>
          row[side].length < 2 ? [] : [[i, row[side].map(([parent, probability]) => ({ parent, probability }))]],
        ),
      ),
    );
  const sorted = sortPedigree(single('sire'), single('dam'), several('sire'), several('dam'));
  if (sorted.kind === 'cyclic') throw new Error('cyclic');
  return sorted.pedigree;
}

/** Animals whose parents, none, one or two candidates a side, stand before them. */
const rows = fc
  .array(fc.tuple(fc.array(fc.nat(), { maxLength: 2 }), fc.array(fc.nat(), { maxLength: 2 })), {
    minLength: 1,
    maxLength: 30,
  })
  .map((drawn) =>
    drawn.map(([sires, dams], i): Row => {
      const side = (values: number[]): [number, number][] => {
        const parents = i === 0 ? [] : [...new Set(values.map((value) => value % i))];
        return parents.map((parent) => [parent, 1 / parents.length]);
      };
      return { sire: side(sires), dam: side(dams) };
    }),
  );

const all = ({ animals, start, share, probability }: Descendants) =>
  new Map(
    [...animals].map((animal, k) => [
      animal,
      { generation: start.findIndex((end) => k < end), share: share[k], probability: probability[k] },
    ]),
  );

describe('descendantFinder', () => {
  it('finds each descendant once, with generation, share and probability', () => {
    // 0 × 1 → 2, 3 (full siblings); 2 × 3 → 4; 4 × 0 → 5; 6 has the sire 0 or 7, and the dam 3.
    const pedigree = toPedigree([
      { sire: [], dam: [] },
      { sire: [], dam: [] },
      { sire: [[0, 1]], dam: [[1, 1]] },
      { sire: [[0, 1]], dam: [[1, 1]] },
      { sire: [[2, 1]], dam: [[3, 1]] },
      { sire: [[0, 1]], dam: [[4, 1]] },
      {
        sire: [
          [0, 0.3],
          [7, 0.7],
        ],
        dam: [],
      },
      { sire: [], dam: [] },
    ]);
    const finder = descendantFinder(pedigree);
    expect(all(finder.of(0))).toEqual(
      new Map([
        [2, { generation: 1, share: 0.5, probability: 1 }],
        [3, { generation: 1, share: 0.5, probability: 1 }],
        [5, { generation: 1, share: 0.75, probability: 1 }],
        [6, { generation: 1, share: 0.15, probability: 0.3 }],
        [4, { generation: 2, share: 0.5, probability: 1 }],
      ]),
    );
    expect(all(finder.of(7))).toEqual(new Map([[6, { generation: 1, share: 0.35, probability: 0.7 }]]));
    expect(all(finder.of(6)).size).toBe(0);
  });

  it('gives offspring of selfing all of the genes', () => {
    const finder = descendantFinder(
      toPedigree([
        { sire: [], dam: [] },
        { sire: [[0, 1]], dam: [[0, 1]] },
      ]),
    );
    expect(all(finder.of(0))).toEqual(new Map([[1, { generation: 1, share: 1, probability: 1 }]]));
  });

  it('gives shares that rebuild the relationship with a founder, which is T·D with D = 1 (Henderson 1976)', () => {
    fc.assert(
      fc.property(rows, (drawn) => {
        const certain = drawn.map(({ sire, dam }) => ({
          sire: sire.slice(0, 1).map(([p]): [number, number] => [p, 1]),
          dam: dam.slice(0, 1).map(([p]): [number, number] => [p, 1]),
        }));
        const pedigree = toPedigree(certain);
        const one = new Float64Array(drawn.length);
        one[0] = 1;
        const relationship = relationshipProduct(pedigree, inbreeding(pedigree), one);
        const found = all(descendantFinder(pedigree).of(0));
        for (let i = 1; i < drawn.length; i++)
          expect(found.get(i)?.share ?? 0).toBeCloseTo(relationship[i] as number, 12);
      }),
    );
  });

  it('agrees with a walk over every way down, whatever was asked before', () => {
    fc.assert(
      fc.property(rows, fc.nat(), (drawn, pick) => {
        const root = pick % drawn.length;
        const finder = descendantFinder(toPedigree(drawn));
        finder.of(0);
        const found = all(finder.of(root));
        const nearest = new Map<number, number>([[root, 0]]);
        const share = drawn.map((_, i): number => (i === root ? 1 : 0));
        for (const [i, row] of drawn.entries()) {
          if (i === root) continue;
          const parents = [...row.sire, ...row.dam];
          const above = parents.flatMap(([parent]) => nearest.get(parent) ?? []);
          if (above.length > 0) nearest.set(i, Math.min(...above) + 1);
          share[i] = parents.reduce((sum, [parent, p]) => sum + (p * (share[parent] ?? 0)) / 2, 0);
        }
        nearest.delete(root);
        expect([...found.keys()].toSorted((a, b) => a - b)).toEqual([...nearest.keys()].toSorted((a, b) => a - b));
        for (const [animal, { generation, share: found_ }] of found) {
          expect(generation).toBe(nearest.get(animal));
          expect(found_).toBeCloseTo(share[animal] ?? 0, 12);
        }
        for (const { probability } of found.values()) {
          expect(probability).toBeGreaterThan(0);
          expect(probability).toBeLessThanOrEqual(1 + 1e-12);
        }
      }),
    );
  });

  it('goes down a chain of 100,000 generations', () => {
    const n = 100_000;
    const pedigree = toPedigree(
      Array.from({ length: n }, (_, i): Row => ({ sire: i === 0 ? [] : [[i - 1, 1]], dam: [] })),
    );
    const found = descendantFinder(pedigree).of(0);
    expect(found.animals.length).toBe(n - 1);
    expect(found.share[9]).toBe(2 ** -10);
  });
});

describe('descendantPager', () => {
  it('pages through everything once in the order of generation and id, however ids are numbered', () => {
    fc.assert(
      fc.property(rows, fc.integer({ min: 1, max: 7 }), fc.integer({ min: 1, max: 20 }), (drawn, size, generations) => {
        const descendants = descendantFinder(toPedigree(drawn)).of(0);
        const id = (animal: number) => `id${(animal * 7919) % 1009}`;
        const pager = descendantPager(descendants, id);
        const seen = [];
        let after = null;
        for (;;) {
          const page = pager.page(generations, after, size);
          expect(page.length).toBeLessThanOrEqual(size);
          seen.push(...page);
          after = page.at(-1) ?? null;
          if (after === null) break;
        }
        const within = [...all(descendants)].filter(([, { generation }]) => generation <= generations);
        const expected = within.map(([animal, { generation }]) => ({ generation, id: id(animal) }));
        expect(seen.map(({ generation, id: own }) => ({ generation, id: own }))).toEqual(
          expected.toSorted((a, b) => a.generation - b.generation || (a.id < b.id ? -1 : 1)),
        );
      }),
    );
  });

  it('goes on behind a descendant that is one no more', () => {
    const pedigree = toPedigree([
      { sire: [], dam: [] },
      { sire: [[0, 1]], dam: [] },
      { sire: [[0, 1]], dam: [] },
    ]);
    const pager = descendantPager(descendantFinder(pedigree).of(0), (animal) => `a${animal * 2}`);
    const page = pager.page(20, { generation: 1, id: 'a3' }, 5);
    expect(page.map(({ id }) => id)).toEqual(['a4']);
  });
});
