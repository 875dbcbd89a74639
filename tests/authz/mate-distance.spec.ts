import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
let world: RegistryWorld;

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});

it('accounts opened by anybody do not lift the few holders of a line over the number from which distances are told', async () => {
  const [asker, holder] = [await world.keeper('Asker'), await world.keeper('Only Holder')];
  const clubId = await world.club(asker, holder);
  await world.db.keeper.updateMany({
    where: { id: { in: [asker.keeperId, holder.keeperId] } },
    data: { region: 'AT-7', holdingsShown: 'club' },
  });
  const taxonId = await world.taxon();
  const lineId = uuid();
  await world.db.line.create({ data: { id: lineId, taxonId, name: 'A line' } });
  const female = await world.animal(asker, taxonId, { lineId, sex: 'female' });
  await world.animal(holder, taxonId, { lineId, sex: 'male' });
  const distances = async (): Promise<string[]> => {
    const { mateOptions } = await server.get<{ mateOptions: { options: { edges: { node: { distance: string } }[] } } }>(
      `query ($id: ID!) { mateOptions(animalId: $id) { options { edges { node { distance } } } } }`,
      { id: female },
      asker.token,
    );
    return mateOptions.options.edges.map(({ node }) => node.distance);
  };
  const more: TestKeeper[] = [];
  for (let n = 0; n < 4; n++) {
    const keeper = await world.keeper(`Invented ${n}`);
    await world.animal(keeper, taxonId, { lineId, sex: 'female' });
    more.push(keeper);
  }
  expect(await distances()).toEqual(['not_shown']);
  await world.db.clubMember.createMany({
    data: more.map(({ keeperId }) => ({ clubId, keeperId, joinedOn: new Date('2025-01-01') })),
  });
  expect(await distances()).toEqual(['same_region']);
});
