import { afterAll, beforeAll, beforeEach, expect, it } from '@jest/globals';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let keeper: TestKeeper;
let [keepId, mergeId, groupId] = ['', '', ''];
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
});
beforeEach(async () => {
  test.setDay('2026-06-01');
  keeper = await world.keeper('A house');
  const taxon = await world.taxon();
  [keepId, mergeId] = [await world.animal(keeper, taxon), await world.animal(keeper, taxon)];
  const input = { keeperId: keeper.keeperId, animalIds: [keepId, mergeId], enteredOn: '2026-06-01' };
  groupId = (await mutate<{ quarantine: { id: string } }>('openQuarantine', input, 'quarantine { id }')).quarantine.id;
  test.setDay('2026-06-10');
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

async function mutate<T = unknown>(name: string, input: object, fields = '__typename'): Promise<T> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const answer = await test.get<Record<string, T>>(
    `mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`,
    { input },
    keeper.token,
  );
  return answer[name] as T;
}

const merge = () => mutate('mergeRecords', { keepId, mergeId, reason: 'One animal.' });
const undo = () => mutate('undoMerge', { mergedId: mergeId, reason: 'Two animals.' });

async function leftOn(animalId: string): Promise<string | null> {
  const [entry, ...more] = await world.db.quarantineEntry.findMany({ where: { animalId, groupId } });
  expect(more).toEqual([]);
  return entry?.leftOn?.toISOString().slice(0, 10) ?? null;
}

it('of two records of one animal in quarantine the merged one leaves, and is there again when that is undone', async () => {
  await merge();
  expect([await leftOn(keepId), await leftOn(mergeId)]).toEqual([null, '2026-06-10']);
  test.setDay('2026-06-14');
  await undo();
  expect([await leftOn(keepId), await leftOn(mergeId)]).toEqual([null, null]);
});

it('what was released early meanwhile stays released', async () => {
  await merge();
  test.setDay('2026-06-14');
  await mutate('releaseQuarantine', { groupId, on: '2026-06-14', reason: 'A vet says so.' });
  await undo();
  expect([await leftOn(keepId), await leftOn(mergeId)]).toEqual(['2026-06-14', '2026-06-14']);
});

it('what was let out as its days were over stays out, even where that was on the day of the merge', async () => {
  test.setDay('2026-07-31');
  await mutate('releaseQuarantine', { groupId, on: '2026-07-31' });
  await merge();
  await undo();
  expect([await leftOn(keepId), await leftOn(mergeId)]).toEqual(['2026-07-31', '2026-07-31']);
});

it('a stay whose days are over but which nobody ended is open again, and ends with the others', async () => {
  test.setDay('2026-08-05');
  await merge();
  expect([await leftOn(keepId), await leftOn(mergeId)]).toEqual([null, '2026-08-05']);
  await undo();
  await merge();
  await undo();
  expect([await leftOn(keepId), await leftOn(mergeId)]).toEqual([null, null]);
  await mutate('releaseQuarantine', { groupId, on: '2026-08-05' });
  expect([await leftOn(keepId), await leftOn(mergeId)]).toEqual(['2026-08-05', '2026-08-05']);
});
