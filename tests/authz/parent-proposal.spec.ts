import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { BreedingWorld } from '../support/breeding-world.js';
import { RegistryWorld } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
let world: RegistryWorld;
let breeding: BreedingWorld;

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
  breeding = new BreedingWorld(server, world);
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});

it('tells who gave a possible sire away nothing of the sex that was found since', async () => {
  server.setDay('2026-01-01');
  const [giver, taker] = [await world.keeper('Giver'), await world.keeper('Taker')];
  const taxonId = await breeding.taxon();
  const grown = { birth: { edtf: '2020', manner: 'hatched' } };
  const dam = await world.animal(giver, taxonId, { sex: 'female', ...grown });
  const other = await world.animal(giver, taxonId, grown);
  const { enclosure } = await breeding.do(giver, 'recordEnclosure', { keeperId: giver.keeperId, name: 'Pen' });
  await breeding.do(giver, 'placeAnimals', { enclosureId: enclosure.id, animalIds: [dam, other], from: '2026-01-01' });
  server.setDay('2026-03-02');
  const { clutch } = await breeding.do(giver, 'recordClutch', { damId: dam, laid: '2026-03-01', eggCount: 1 });
  const sires = async (): Promise<(string | undefined)[]> => {
    const query = 'query ($id: ID!) { parentProposal(clutchId: $id) { sires { animal { id } } } }';
    const answer = await server.get<{ parentProposal: { sires: { animal: { id: string } | null }[] } }>(
      query,
      { id: clutch.id },
      giver.token,
    );
    return answer.parentProposal.sires.map(({ animal }) => animal?.id);
  };
  expect(await sires()).toEqual([other]);

  await world.db.animalAccess.updateMany({
    where: { animalId: other, keeperId: giver.keeperId },
    data: { validTo: new Date('2026-03-03'), readsUntil: new Date('2026-03-03T12:00:00Z') },
  });
  for (const relation of ['holder', 'owner'] as const)
    await world.db.animalAccess.create({
      data: { id: uuid(), animalId: other, keeperId: taker.keeperId, relation, validFrom: new Date('2026-03-03') },
    });
  server.setDay('2026-03-10');
  await server.get(
    `mutation ($input: RecordFactInput!) { recordFact(input: $input) { animal { sex } } }`,
    { input: { animalId: other, sex: { sex: 'female' } } },
    taker.token,
  );
  expect(await sires()).toEqual([other]);
});
