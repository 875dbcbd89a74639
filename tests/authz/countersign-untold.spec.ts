import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { LiveClient } from '../support/live-client.js';
import { MinorWorld } from '../support/minor-world.js';
import { type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: MinorWorld;
const open: LiveClient[] = [];
beforeAll(async () => {
  test = await startTestApp();
  await test.app.listen(0, '127.0.0.1');
  world = new MinorWorld(test);
});
afterAll(async () => {
  await Promise.all(open.map((client) => client.close()));
  await world.close();
  await test.close();
});

const READ = `id state version countersignatures { side signed } viewerCan { accept withdraw countersign withdrawCountersignature }`;
const FOLLOW = 'subscription ($k: ID!) { transferChanged(keeperId: $k) { transfer { state } } }';
type Heard = { transferChanged: { transfer: { state: string } | null } };

it('the other side of an offer reads and hears of no countersignature, given, taken back and given again', async () => {
  const [adult, minor] = [await world.keeper('Adult'), await world.minor()];
  const animalId = await world.animal(adult, await world.taxon());
  const id = (await world.offer(adult, minor.keeperId, [animalId])).data?.offerTransfer.transfer.id ?? '';
  const read = async (who: TestKeeper): Promise<object> => {
    const document = `query ($id: ID!) { transfer(id: $id) { ${READ} } transferChecks(transferId: $id) { check effect } }`;
    return test.ask(document, { id }, who.token);
  };
  const exported = async (who: TestKeeper): Promise<object[]> => {
    const { exportMyData } = await test.get<{ exportMyData: { json: string } }>(
      'query ($k: ID!) { exportMyData(keeperId: $k) { json } }',
      { k: who.keeperId },
      who.token,
    );
    const { transfers } = JSON.parse(exportMyData.json) as { transfers: { countersignatures: object[] }[] };
    return transfers[0]?.countersignatures ?? [];
  };
  const before = { other: await read(adult), own: await read(minor) };
  const follow = async (who: TestKeeper) => {
    const client = await new LiveClient(await test.app.getUrl()).greet(who.token);
    open.push(client);
    const subscription = client.subscribe(FOLLOW, { k: who.keeperId });
    await sleep(300);
    return () => client.hear<Heard>(subscription);
  };
  const [other, own] = [await follow(adult), await follow(minor)];
  const step = async (name: string, who: TestKeeper): Promise<void> => {
    const { errors } = await world.run(name, { transferId: id }, who, 'transfer { id }');
    expect(errors).toBeUndefined();
  };
  for (const name of ['countersignTransfer', 'withdrawCountersignature', 'countersignTransfer'])
    await step(name, minor.guardian);
  expect((await own())[0]?.transferChanged.transfer?.state).toBe('offered');
  expect(await read(adult)).toEqual(before.other);
  expect(await read(minor)).not.toEqual(before.own);
  expect([await exported(adult), await exported(minor)].map((each) => each.length)).toEqual([0, 2]);
  await step('acceptTransfer', minor);
  expect((await other())[0]?.transferChanged.transfer?.state).toBe('accepted');
  expect(await exported(adult)).toEqual([{ side: 'receiver', signedAt: expect.any(String), voidedAt: null }]);
  await step('withdrawCountersignature', minor.guardian);
  expect(await exported(adult)).toHaveLength(1);
});
