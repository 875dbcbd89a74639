import { afterAll, describe, expect, it } from '@jest/globals';
import { type AnimalView } from '../../animal/index.js';
import { Compute } from '../../platform/compute/index.js';
import { type LivePedigree } from '../pedigree/live-pedigree.js';
import { buildSnapshot } from '../pedigree/pedigree-snapshot.core.js';
import { RelateAnimals } from './relate-animals.js';

describe('RelateAnimals', () => {
  const compute = new Compute();
  afterAll(() => compute.onApplicationShutdown());
  const relate = new RelateAnimals({} as LivePedigree, compute);
  const id = (k: number) => `018f0000-0000-7000-8000-${k.toString(16).padStart(12, '0')}`;
  /** Two full siblings at the end of a pedigree of `n`, one of whose parents is uncertain where asked. */
  const snapshotOf = (n: number, uncertain: boolean) => {
    const record = { alive: true, declaredFounder: false, mergedIntoId: null };
    const claim = (childId: number, role: 'sire' | 'dam', parent: number, probability = 1) => ({
      childId: id(childId),
      role,
      withoutSire: false,
      parentId: id(parent),
      probability,
    });
    return buildSnapshot(
      Array.from({ length: n }, (_, k) => ({ ...record, id: id(k) })),
      [n - 1, n - 2].flatMap((child) => [
        claim(child, 'dam', 0),
        ...(uncertain ? [claim(child, 'sire', 1, 0.5), claim(child, 'sire', 2, 0.5)] : [claim(child, 'sire', 1)]),
      ]),
      1n,
    );
  };
  const view = (k: number) => ({ id: id(k), sex: 'male' }) as AnimalView;

  it.each([
    [10, false, 'full brothers', 0.25],
    [20_000, false, 'full brothers', 0.25],
    [20_000, true, 'half brothers through the dam (or full brothers)', 0.1875],
  ])('of %d animals, uncertain %s: %s', async (n, uncertain, words, kinship) => {
    const snapshot = snapshotOf(n, uncertain);
    const related = await relate.within(snapshot, view(n - 1), view(n - 2));
    expect(related.words.phrase).toBe(words);
    expect(related.ties.kinship).toBeCloseTo(kinship, 12);
    const table = await relate.table(snapshot, [view(n - 1), view(n - 2), view(0)]);
    expect(table).toEqual([
      [0.5, kinship, 0.25],
      [kinship, 0.5, 0.25],
      [0.25, 0.25, 0.5],
    ]);
  });
});
