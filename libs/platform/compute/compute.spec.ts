import { afterEach, describe, expect, it } from '@jest/globals';
import { Compute, defineWork } from './index.js';

const sortInThread = defineWork<(sire: Int32Array) => unknown>(
  new URL('../../genetics/pedigree/sort-pedigree.js', import.meta.url),
  'sortPedigree',
);
const sizeInThread = defineWork<typeof import('../../genetics/kinship/kinship.js').groupSize>(
  new URL('../../genetics/kinship/kinship.js', import.meta.url),
  'groupSize',
);
const missing = defineWork<() => void>(
  new URL('../../genetics/kinship/kinship.js', import.meta.url),
  'nothingOfTheKind',
);

describe('Compute', () => {
  let compute = new Compute();
  afterEach(async () => {
    await compute.onApplicationShutdown();
    compute = new Compute();
  });

  it('runs an exported function of the sources in a thread, on shared memory', async () => {
    const members = new Uint8Array(new SharedArrayBuffer(4));
    members.set([1, 0, 1, 1]);
    expect(await compute.run(sizeInThread, members)).toBe(3);
    members[1] = 1;
    expect(await Promise.all([compute.run(sizeInThread, members), compute.run(sizeInThread, members)])).toEqual([4, 4]);
  });

  it('throws here what was thrown there, and works on', async () => {
    await expect(compute.run(sizeInThread, new Uint8Array(3))).rejects.toThrow('the reference group has no members');
    await expect(compute.run(sortInThread, new Int32Array(1))).rejects.toThrow();
    await expect(compute.run(missing, undefined as never)).rejects.toThrow();
    expect(await compute.run(sizeInThread, Uint8Array.of(1))).toBe(1);
  });

  it('ends work that is under way when the application closes', async () => {
    const work = compute.run(sizeInThread, Uint8Array.of(1));
    const ended = expect(work).rejects.toThrow();
    await compute.onApplicationShutdown();
    await ended;
  });
});
