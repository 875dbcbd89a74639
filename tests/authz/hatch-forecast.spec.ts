import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { BreedingWorld } from '../support/breeding-world.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
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

it('tells who gave a dam away nothing of what hatched from her clutches since', async () => {
  server.setDay('2026-01-20');
  const [giver, taker] = [await world.keeper('Giver'), await world.keeper('Taker')];
  const taxonId = await breeding.taxon();
  const dam = await world.animal(giver, taxonId, { sex: 'female', birth: { edtf: '2020', manner: 'hatched' } });
  const laid = await breeding.do(giver, 'recordClutch', { damId: dam, laid: '2026-01-10', eggCount: 1 });
  type Forecast = { basis: string; earliest: string | null; latest: string | null } | null;
  const forecast = async (keeper: TestKeeper): Promise<Forecast> => {
    const query = 'query ($id: ID!) { clutch(id: $id) { hatchForecast { basis earliest latest } } }';
    const answer = await server.get<{ clutch: { hatchForecast: Forecast } }>(
      query,
      { id: laid.clutch.id },
      keeper.token,
    );
    return answer.clutch.hatchForecast;
  };
  const before = await forecast(giver);
  expect(before).not.toBeNull();

  const given = new Date('2026-01-21T12:00:00Z');
  await world.db.animalAccess.updateMany({
    where: { animalId: dam, keeperId: giver.keeperId },
    data: { validTo: new Date('2026-01-21'), readsUntil: given },
  });
  for (const relation of ['holder', 'owner'] as const)
    await world.db.animalAccess.create({
      data: { id: uuid(), animalId: dam, keeperId: taker.keeperId, relation, validFrom: new Date('2026-01-21') },
    });
  // The new keeper's clutches, as they lie in the database: each hatched after 61 days.
  for (const [day, hatched] of [
    ['2025-03-01', '2025-05-01'],
    ['2025-06-01', '2025-08-01'],
    ['2025-09-01', '2025-11-01'],
    ['2025-11-01', '2026-01-01'],
  ] as const) {
    const id = uuid();
    const at = { recordedAt: new Date('2026-02-01T12:00:00Z'), recordedBy: taker.accountId, keeperId: taker.keeperId };
    const on = (text: string) => ({ edtf: text, earliest: new Date(text), latest: new Date(text) });
    await world.db.clutch.create({
      data: { id, originalId: id, kind: 'eggs', damId: dam, eggCount: 1, controlled: 'unknown', ...on(day), ...at },
    });
    const animalId = await world.animal(taker, taxonId);
    await world.db.hatching.create({
      data: {
        id: uuid(),
        clutchId: id,
        animalId,
        controlled: 'unknown',
        ...on(hatched),
        recordedAt: at.recordedAt,
        recordedBy: at.recordedBy,
      },
    });
  }
  server.setDay('2026-02-02');
  expect(await forecast(taker)).not.toEqual(before);
  expect(await forecast(giver)).toEqual(before);
});
