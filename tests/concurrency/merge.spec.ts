import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { MergeRecords } from '../../libs/custody/app/merge-records.js';
import { UndoMerge } from '../../libs/custody/app/undo-merge.js';
import { holdRow, type Party, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let one: Party;
let other: Party;
let merging: MergeRecords;
let undoing: UndoMerge;
beforeAll(async () => {
  w = await transferWorld();
  one = await w.party('One keeper');
  // Two people who both act for that keeper.
  other = { ...one, viewer: { ...(await w.party('Another account')).viewer, keepers: one.viewer.keepers } };
  merging = new MergeRecords(w.uow);
  undoing = new UndoMerge(w.uow);
});
afterAll(() => w.close());

const merge = (who: Party, keepId: string, mergeId: string) =>
  merging.execute(who.viewer, { keepId, mergeId, reason: 'One animal.' });
const undo = (who: Party, mergedId: string) => undoing.execute(who.viewer, { mergedId, reason: 'Two animals.' });

/** Lets both go at once after they have come to wait for the record, and gives the rules that refused. */
async function race(animalId: string, ...acts: (() => Promise<unknown>)[]): Promise<(string | undefined)[]> {
  const barrier = await holdRow(w.url, 'animal', animalId);
  const all = Promise.allSettled(acts.map((act) => act()));
  await barrier.releaseWhenWaiting(acts.length);
  return (await all)
    .filter((each) => each.status === 'rejected')
    .map(({ reason }) => (reason as { rule?: string }).rule);
}

const inForce = (...ids: string[]) =>
  w.client.recordMerge.count({ where: { mergedId: { in: ids }, supersededAt: null } });

it.each([1, 2])('two people merge the same record into different ones: one is refused (%i)', async () => {
  const [a, b, c] = [await w.animal(one), await w.animal(one), await w.animal(one)];
  const refused = await race(
    a,
    () => merge(one, b, a),
    () => merge(other, c, a),
  );
  expect(refused).toEqual(['RECORD_MERGED']);
  expect(await inForce(a)).toBe(1);
  expect(await w.client.custody.count({ where: { animalId: a, supersededAt: null, leftBy: 'merged' } })).toBe(1);
});

it('two people merge two records the opposite ways: one stays, one goes', async () => {
  const [a, b] = [await w.animal(one), await w.animal(one)];
  expect(
    await race(
      a,
      () => merge(one, a, b),
      () => merge(other, b, a),
    ),
  ).toEqual(['RECORD_MERGED']);
  expect(await inForce(a, b)).toBe(1);
});

it('two people make a chain at once: one is refused', async () => {
  const [a, b, c] = [await w.animal(one), await w.animal(one), await w.animal(one)];
  const [refused, ...more] = await race(
    b,
    () => merge(one, a, b),
    () => merge(other, b, c),
  );
  expect(['RECORD_MERGED', 'MERGE_CHAIN']).toContain(refused);
  expect(more).toEqual([]);
  expect(await inForce(b, c)).toBe(1);
});

it('two people undo one merge: one is told that it is undone, and custody goes on once', async () => {
  const [a, b] = [await w.animal(one), await w.animal(one)];
  await merge(one, a, b);
  expect(
    await race(
      b,
      () => undo(one, b),
      () => undo(other, b),
    ),
  ).toEqual(['NOT_MERGED']);
  expect(await inForce(b)).toBe(0);
  expect(await w.client.custody.count({ where: { animalId: b, supersededAt: null } })).toBe(1);
});
