import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/** A search looks ahead to a day of choice. Asked day by day it must tell a club-mate no day that lineage does not share. */
let server: TestApp;
let world: RegistryWorld;
let asker: TestKeeper;
let holder: TestKeeper;
let female: string;
let ownFemale: string;
let young: string;
let apart: string;

beforeAll(async () => {
  server = await startTestApp();
  server.setDay('2026-06-10');
  world = new RegistryWorld(server);
  [asker, holder] = [await world.keeper('Asker'), await world.keeper('Holder')];
  await world.club(asker, holder);
  const taxonId = await world.taxon();
  const profile = { maturityDays: { min: 300, value: 365, source: 'invented' } };
  await world.db.taxon.update({ where: { id: taxonId }, data: { profile } });
  const grown = { birth: { edtf: '2020', manner: 'hatched' } };
  female = await world.animal(asker, taxonId, { sex: 'female', ...grown });
  ownFemale = await world.animal(holder, taxonId, { sex: 'female', ...grown });
  young = await world.animal(holder, taxonId, { sex: 'male', birth: { edtf: '2026-05-12', manner: 'hatched' } });
  apart = await world.animal(holder, taxonId, { sex: 'male', ...grown });
  await server.get(
    `mutation ($input: OpenQuarantineInput!) { openQuarantine(input: $input) { quarantine { id } } }`,
    { input: { keeperId: holder.keeperId, name: 'Back room', animalIds: [apart], enteredOn: '2026-06-10' } },
    holder.token,
  );
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});

async function ask(keeper: TestKeeper, animalId: string, on: string): Promise<Map<string, string>> {
  const { mateOptions } = await server.get<{
    mateOptions: { options: { edges: { node: { grownUp: string; animal: { id: string } } }[] } };
  }>(
    `query ($id: ID!, $on: Day!) { mateOptions(animalId: $id, filters: { on: $on, includeYoung: true }) {
       options { edges { node { grownUp animal { id } } } } } }`,
    { id: animalId, on },
    keeper.token,
  );
  return new Map(mateOptions.options.edges.map(({ node }) => [node.animal.id, node.grownUp]));
}

it('tells a club-mate the age by the year of birth, and its keeper by the day', async () => {
  const days = ['2026-10-27', '2026-12-15', '2027-03-07', '2027-03-08', '2027-05-11', '2027-05-12', '2027-12-31'];
  const answers = async (keeper: TestKeeper, id: string) =>
    Promise.all(days.map(async (on) => (await ask(keeper, id, on)).get(young)));
  // 300 and 365 days after 12 May 2026, and after the first and the last day of 2026.
  expect(await answers(holder, ownFemale)).toEqual(['no', 'no', 'no', 'possible', 'possible', 'yes', 'yes']);
  expect(await answers(asker, female)).toEqual([
    'no',
    'possible',
    'possible',
    'possible',
    'possible',
    'possible',
    'yes',
  ]);
});

it('tells a club-mate no day on which a quarantine ends', async () => {
  const listed = async (keeper: TestKeeper, id: string, on: string) => (await ask(keeper, id, on)).has(apart);
  // 60 days from 10 June.
  for (const [on, free] of [
    ['2026-06-10', false],
    ['2026-08-08', false],
    ['2026-08-09', true],
    ['2027-06-01', true],
  ] as const) {
    expect([on, await listed(holder, ownFemale, on)]).toEqual([on, free]);
    expect([on, await listed(asker, female, on)]).toEqual([on, false]);
  }
  server.setDay('2026-08-09');
  expect(await listed(asker, female, '2026-08-09')).toBe(true);
  server.setDay('2026-06-10');
});
