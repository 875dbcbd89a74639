import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { BreedingWorld } from '../support/breeding-world.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let breeding: BreedingWorld;
let keeper: TestKeeper;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  breeding = new BreedingWorld(test, world);
  keeper = await world.keeper('Breeder');
});
afterAll(async () => {
  test.setDay(null);
  await world.close();
  await test.close();
});

it('eggs of a dam whose record was merged since are tended and hatch, and the young name her', async () => {
  const taxonId = await breeding.taxon();
  const { dam } = await breeding.pair(keeper, taxonId);
  const kept = await world.animal(keeper, taxonId, { sex: 'female' });
  const laid = { damId: dam, eggCount: 2, laid: '2026-03-01' };
  const { clutch } = await breeding.do(keeper, 'recordClutch', laid);
  const merged = { keepId: kept, mergeId: dam, reason: 'One animal.' };
  await test.get(
    'mutation ($i: MergeRecordsInput!) { mergeRecords(input: $i) { animal { id } } }',
    { i: merged },
    keeper.token,
  );
  const clutchId = clutch.id;
  await breeding.do(keeper, 'recordEggEvents', {
    clutchId,
    kind: 'candled',
    eggs: [1],
    when: '2026-04-01',
    candling: 'fertile',
  });
  const { young } = await breeding.do(keeper, 'recordHatchlings', {
    clutchId,
    when: '2026-05-01',
    young: [{ eggNumber: 1 }],
  });
  const hatchling = young[0]?.id ?? '';
  const claimed = await world.db.parentCandidate.findMany({
    where: { claim: { childId: hatchling, role: 'dam', supersededAt: null } },
  });
  expect(claimed.map(({ parentId }) => parentId)).toEqual([dam]);
  const other = await world.animal(keeper, taxonId);
  await breeding.do(keeper, 'recordHatching', { clutchId, animalId: other, eggNumber: 2, when: '2026-05-02' });
});
