import { describe, expect, it } from '@jest/globals';
import { inbreeding, sortPedigree } from '../../genetics/index.js';
import { kinshipsOf, tiesOf } from './relate.core.js';

describe('a deep, inbred pedigree', () => {
  /** 20,000 animals, each with parents among the twelve before it: about 2,000 generations. */
  const n = 20_000;
  const [sire, dam] = [new Int32Array(n).fill(-1), new Int32Array(n).fill(-1)];
  let state = 7;
  const draw = (below: number) => (state = (Math.imul(state, 48_271) >>> 0) % 2_147_483_647) % below;
  for (let i = 4; i < n; i++) {
    const from = Math.max(0, i - 12);
    sire[i] = from + draw(i - from);
    if (draw(20) > 0) dam[i] = from + draw(i - from);
  }
  const sorted = sortPedigree(sire, dam);
  if (sorted.kind === 'cyclic') throw new Error('cyclic');
  const source = { pedigree: sorted.pedigree, inbreeding: inbreeding(sorted.pedigree), sampling: undefined };

  it('is followed for a bounded time, and what is left is told', () => {
    const began = performance.now();
    const ties = tiesOf({ ...source, a: n - 1, b: n - 2 });
    expect(performance.now() - began).toBeLessThan(5_000); // 0.1 s on an idle machine
    expect(ties.rest).toBeGreaterThan(0);
    const told = ties.ties.reduce((sum, { contribution }) => sum + contribution, 0);
    expect(told + ties.rest).toBeCloseTo(ties.kinship, 12);
  });

  it('gives the same kinship by ties and by products', () => {
    const animals = [n - 1, n - 2, n - 7, 100];
    const table = kinshipsOf({ ...source, animals });
    for (const [i, a] of animals.entries())
      for (const [j, b] of animals.entries())
        expect(tiesOf({ ...source, a, b }).kinship).toBeCloseTo(table[i]?.[j] ?? NaN, 12);
  });
});
