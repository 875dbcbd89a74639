import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { dayOf } from '../../libs/kernel/index.js';
import { BreedingWorld } from '../support/breeding-world.js';
import { RegistryWorld } from '../support/registry-world.js';
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

it('a guest who reads the record of a dam reads her clutch by its id as well, and not who bred it', async () => {
  const breeding = new BreedingWorld(server, world);
  const [holder, guest] = [await world.keeper('Holder'), await world.keeper('Guest')];
  const dam = await world.animal(holder, await breeding.taxon(), { sex: 'female' });
  const laid = await breeding.do(holder, 'recordClutch', { damId: dam, eggCount: 1 });
  const byId = async (): Promise<object | null | undefined> => {
    const document = 'query ($id: ID!) { clutch(id: $id) { id eggCount breeders { keeperId } } }';
    return (await server.ask<{ clutch: object }>(document, { id: laid.clutch.id }, guest.token)).data?.clutch;
  };
  expect(await byId()).toBeUndefined();
  await server.get(
    'mutation ($input: GrantReadingInput!) { grantReading(input: $input) { grant { until } } }',
    { input: { animalId: dam, toKeeperId: guest.keeperId, until: dayOf(new Date()) } },
    holder.token,
  );
  const throughDam =
    'query ($id: ID!) { animal(id: $id) { clutches { edges { node { id eggCount breeders { keeperId } } } } } }';
  type Through = { animal: { clutches: { edges: { node: object }[] } } };
  const { animal } = await server.get<Through>(throughDam, { id: dam }, guest.token);
  expect(animal.clutches.edges[0]?.node).toMatchObject({ id: laid.clutch.id, eggCount: 1, breeders: null });
  expect(await byId()).toEqual(animal.clutches.edges[0]?.node);
});
