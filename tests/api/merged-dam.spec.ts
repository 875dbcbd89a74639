import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { BreedingWorld } from '../support/breeding-world.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const MERGE = 'mutation ($i: MergeRecordsInput!) { mergeRecords(input: $i) { animal { id } } }';

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
  await test.get(MERGE, { i: merged }, keeper.token);
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
  const came = { clutchId, animalId: other, eggNumber: 2, when: '2026-05-02' };
  const { hatching } = await breeding.do(keeper, 'recordHatching', came);
  const slip = { reason: 'A slip.', takeBack: false };
  await breeding.do(keeper, 'correctBreedingFact', {
    ...{ ...slip, kind: 'hatching', factId: hatching.id, when: '2026-05-03' },
  });
  const corrected = await breeding.do(keeper, 'correctBreedingFact', {
    ...{ ...slip, kind: 'clutch', factId: clutchId, when: '2026-03-02' },
  });
  // A person who names the dam names the record that is kept.
  const clutch2 = { ...slip, kind: 'clutch', factId: corrected.factId };
  expect(await breeding.refused(keeper, 'correctBreedingFact', { ...clutch2, damId: dam })).toMatchObject({
    code: 'RULE_REFUSED',
    rule: 'RECORD_MERGED',
  });
  await breeding.do(keeper, 'correctBreedingFact', { ...clutch2, damId: kept });
});

it('a mating of records that were merged since is put on another day', async () => {
  const taxonId = await breeding.taxon();
  const { dam, sire } = await breeding.pair(keeper, taxonId);
  const said = { damId: dam, sireId: sire, when: '2026-02-01' };
  const { mating } = await breeding.do(keeper, 'recordMating', said);
  for (const [mergeId, sex] of [
    [dam, 'female'],
    [sire, 'male'],
  ] as const) {
    const merged = { keepId: await world.animal(keeper, taxonId, { sex }), mergeId, reason: 'One animal.' };
    await test.get(MERGE, { i: merged }, keeper.token);
  }
  const slip = { kind: 'mating', factId: mating.id, reason: 'A slip.', takeBack: false, when: '2026-02-02' };
  await breeding.do(keeper, 'correctBreedingFact', slip);
});
