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
  await mutate('mergeRecords', { keepId, mergeId, reason: 'One animal.' });
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

async function leftOn(animalId: string): Promise<string | null> {
  const [entry, ...more] = await world.db.quarantineEntry.findMany({ where: { animalId, groupId } });
  expect(more).toEqual([]);
  return entry?.leftOn?.toISOString().slice(0, 10) ?? null;
}

it('of two records of one animal in quarantine the merged one leaves, and is there again when that is undone', async () => {
  expect([await leftOn(keepId), await leftOn(mergeId)]).toEqual([null, '2026-06-10']);
  test.setDay('2026-06-14');
  await mutate('undoMerge', { mergedId: mergeId, reason: 'Two animals.' });
  expect([await leftOn(keepId), await leftOn(mergeId)]).toEqual([null, null]);
});

it('what was released early meanwhile stays released', async () => {
  test.setDay('2026-06-14');
  await mutate('releaseQuarantine', { groupId, on: '2026-06-14', reason: 'A vet says so.' });
  await mutate('undoMerge', { mergedId: mergeId, reason: 'Two animals.' });
  expect([await leftOn(keepId), await leftOn(mergeId)]).toEqual(['2026-06-14', '2026-06-14']);
});
