import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { OriginWorld } from '../support/origin-world.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const BRED = { originClass: 'bred' };
const OWN = { since: '2026-01-01' };

let server: TestApp;
let world: RegistryWorld;
let origin: OriginWorld;
let keeper: TestKeeper;
let taxonId: string;

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
  origin = new OriginWorld(server, world);
  keeper = await world.keeper('Juniper');
  taxonId = await origin.taxon();
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});
beforeEach(() => server.setDay('2026-06-10'));

async function mutate(name: 'mergeRecords' | 'undoMerge', input: object): Promise<void> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const document = `mutation ($input: ${type}!) { ${name}(input: $input) { animal { id } } }`;
  const { errors } = await server.ask(document, { input: { ...input, reason: 'a test' } }, keeper.token);
  if (errors !== undefined) throw new Error(JSON.stringify(errors));
}
const merge = (keepId: string, mergeId: string) => mutate('mergeRecords', { keepId, mergeId });
const undo = (mergedId: string) => mutate('undoMerge', { mergedId });
const found = (animalId: string) => origin.finding(keeper, animalId);
const markOf = async (animalId: string) => (await world.db.animalMark.findFirstOrThrow({ where: { animalId } })).id;

describe('the origin of two records that are one animal', () => {
  it('is weighed by the facts of both: hatching, clutch and dam of the merged one count until the merge is undone', async () => {
    const { young, clutch } = await origin.contradictory(keeper, taxonId);
    server.setDay('2026-06-10');
    const kept = await world.animal(keeper, taxonId, { ...BRED, ...OWN });
    const before = await found(kept);
    expect(before).toMatchObject({ verdict: 'stated_only' });
    await merge(kept, young);
    const together = await found(kept);
    expect(together).toMatchObject({ verdict: 'contradicted', generation: { lowest: 0, highest: 0 } });
    expect(together.items.flatMap(({ factIds }) => factIds)).toContain(clutch);
    await undo(young);
    expect(await found(kept)).toEqual(before);
    expect(await found(young)).toMatchObject({ verdict: 'contradicted' });
  });

  it('counts marks and days of custody of both', async () => {
    const chip = { marks: [{ kind: 'transponder', value: '276098106123456' }] };
    const kept = await world.animal(keeper, taxonId, BRED);
    const born = { birth: { edtf: '2026-01-05', manner: 'hatched' }, since: '2026-01-05', arrivedBy: 'born' };
    const merged = await world.animal(keeper, taxonId, { ...BRED, ...born, ...chip });
    await merge(kept, merged);
    const { items } = await found(kept);
    expect(items.flatMap(({ factIds }) => factIds)).toContain(await markOf(merged));
    expect(items.map(({ words }) => words)).toContain('Its holders are on record without a gap since its beginning.');
  });

  it('of young: what is recorded of the dam on either record counts', async () => {
    const { dam, young } = await origin.honest(keeper, taxonId);
    expect((await found(young)).verdict).toBe('consistent');
    server.setDay('2026-06-10');
    const other = await world.animal(keeper, taxonId, { sex: 'female', originClass: 'wild', since: '2026-02-01' });
    const acquisition = { manner: 'wild_taken', country: 'MG' };
    await origin.do(keeper, 'recordFact', { animalId: other, when: '2026-02-01', acquisition });
    await merge(other, dam);
    const after = await found(young);
    expect(after).toMatchObject({ generation: { lowest: 0 } });
    expect(JSON.stringify(after.items)).toContain('taken from the wild');
    await undo(dam);
    expect((await found(young)).verdict).toBe('consistent');
  });

  it('no merge hides that one of the two is claimed wild', async () => {
    const kept = await world.animal(keeper, taxonId, { ...BRED, ...OWN });
    const wild = await world.animal(keeper, taxonId, { originClass: 'wild', ...OWN });
    expect((await found(kept)).verdict).toBe('stated_only');
    await merge(kept, wild);
    expect(await found(kept)).toMatchObject({ claim: 'bred', verdict: 'contradicted' });
    await undo(wild);
    expect((await found(kept)).verdict).toBe('stated_only');
  });

  it('as it was before the merge, for who parted with the animal then', async () => {
    const giver = await world.keeper('Giver');
    const [kept, merged] = [
      await world.animal(giver, taxonId, { ...BRED, ...OWN }),
      await world.animal(keeper, taxonId, { originClass: 'wild', ...OWN }),
    ];
    const send = async (name: string, input: object, who: TestKeeper) => {
      const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
      const document = `mutation ($input: ${type}!) { ${name}(input: $input) { transfer { id } } }`;
      const { data } = await server.ask<Record<string, { transfer: { id: string } }>>(document, { input }, who.token);
      return data?.[name]?.transfer.id;
    };
    const offer = { fromKeeperId: giver.keeperId, toKeeperId: keeper.keeperId, kind: 'gift' };
    const transferId = await send('offerTransfer', { ...offer, items: [{ animalId: kept }] }, giver);
    await send('acceptTransfer', { transferId }, keeper);
    await send('sendTransfer', { transferId, sentOn: '2026-06-10' }, giver);
    const items = [{ animalId: kept, arrivals: [{ state: 'well', count: 1 }] }];
    await send('receiveTransfer', { transferId, receivedOn: '2026-06-10', items }, keeper);
    server.setDay('2026-06-12');
    await merge(kept, merged);
    expect((await found(kept)).verdict).toBe('contradicted');
    expect((await origin.finding(giver, kept)).verdict).toBe('stated_only');
  });
});
