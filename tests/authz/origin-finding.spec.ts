import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { FINDING, type Finding, OriginWorld } from '../support/origin-world.js';
import { endQuarantine } from '../support/end-quarantine.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
let world: RegistryWorld;
let origin: OriginWorld;
let breeder: TestKeeper;
let past: TestKeeper;
let holder: TestKeeper;
let receiver: TestKeeper;
let mate: TestKeeper;
let stranger: TestKeeper;
let dam: string;
let young: string;

/** A mutation of transfers; its answer is the transfer. */
async function step(by: TestKeeper, name: string, input: object): Promise<string> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const answer = await server.get<Record<string, { transfer: { id: string } }>>(
    `mutation ($input: ${type}!) { ${name}(input: $input) { transfer { id } } }`,
    { input },
    by.token,
  );
  return answer[name]?.transfer.id ?? '';
}

async function offer(from: TestKeeper, to: TestKeeper, animalId: string): Promise<string> {
  const items = [{ animalId }];
  return step(from, 'offerTransfer', { fromKeeperId: from.keeperId, toKeeperId: to.keeperId, kind: 'gift', items });
}

async function handOver(from: TestKeeper, to: TestKeeper, animalId: string, on: string): Promise<void> {
  const transferId = await offer(from, to, animalId);
  await step(to, 'acceptTransfer', { transferId });
  await endQuarantine(world.db, animalId, on);
  await step(from, 'sendTransfer', { transferId, sentOn: on });
  const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
  await step(to, 'receiveTransfer', { transferId, receivedOn: on, items });
}

const ask = (by: TestKeeper, animalId: string) =>
  server.ask<{ originFinding: Finding }>(FINDING, { animalId }, by.token);

/** The breeder keeps the dam; the young went to one keeper, then another, and is offered to a third. */
beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
  origin = new OriginWorld(server, world);
  server.setDay('2026-01-01');
  const names = [
    'Breeder Ashdown',
    'Past Corrigan',
    'Holder Delacroix',
    'Receiver Eastwick',
    'Mate Fairburn',
    'Stranger Goring',
  ];
  const keepers: TestKeeper[] = [];
  for (const name of names) keepers.push(await world.keeper(name));
  [breeder, past, holder, receiver, mate, stranger] = keepers as [
    TestKeeper,
    TestKeeper,
    TestKeeper,
    TestKeeper,
    TestKeeper,
    TestKeeper,
  ];
  await world.club(holder, mate);
  ({ dam, young } = await origin.contradictory(breeder, await origin.taxon()));
  server.setDay('2026-04-01');
  await handOver(breeder, past, young, '2026-04-01');
  server.setDay('2026-05-01');
  await handOver(past, holder, young, '2026-05-01');
  server.setDay('2026-06-10');
  await offer(holder, receiver, young);
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});

describe('who reads a finding of origin', () => {
  it('the holder, past holders and the receiver of an offer do', async () => {
    for (const keeper of [holder, past, breeder, receiver]) {
      const { data, errors } = await ask(keeper, young);
      expect(errors).toBeUndefined();
      expect(data?.originFinding.verdict).toBe('contradicted');
    }
  });

  it('a club-mate, a stranger and nobody do not, in the same words as for what does not exist', async () => {
    const nothing = (await ask(stranger, uuid())).errors?.[0];
    expect(nothing?.extensions.code).toBe('NOT_FOUND');
    for (const keeper of [mate, stranger])
      expect((await ask(keeper, young)).errors?.[0]?.message).toBe(nothing?.message);
    const signedOut = await server.ask(FINDING, { animalId: young });
    expect(signedOut.errors?.[0]?.extensions.code).toBe('UNAUTHENTICATED');
  });

  it('the club-mate reads the claim in the lineage, and no breeding fact', async () => {
    const { animal } = await server.get<{ animal: Record<string, unknown> }>(
      `query ($id: ID!) { animal(id: $id) { originClass hatching { id } clutches { edges { node { id } } } matings { edges { node { id } } } } }`,
      { id: young },
      mate.token,
    );
    expect(animal).toEqual({ originClass: 'bred', hatching: null, clutches: null, matings: null });
  });

  it('who does not see the dam reads what her record says, without her facts', async () => {
    const seen = (await ask(breeder, young)).data?.originFinding;
    const unseen = (await ask(holder, young)).data?.originFinding;
    const against = (finding?: Finding) => finding?.items.find((item) => item.weighs === 'contradicts');
    expect(against(unseen)?.words).toBe(against(seen)?.words);
    expect(against(seen)?.factIds).toHaveLength(2);
    expect(against(unseen)?.factIds).toEqual([]);
  });

  it('no keeper, price, place, enclosure, animal id or register number stands in it', async () => {
    const { registerNumber } = await world.db.animal.findUniqueOrThrow({ where: { id: dam } });
    for (const keeper of [holder, past, breeder, receiver]) {
      const text = JSON.stringify((await ask(keeper, young)).data);
      expect(text).not.toMatch(/Ashdown|Corrigan|Delacroix|Eastwick|Fairburn|Goring|\bMG\b/);
      for (const secret of [dam, registerNumber, holder.keeperId, past.keeperId]) expect(text).not.toContain(secret);
    }
  });

  it('a past holder goes on reading it as of the day the animal left', async () => {
    await origin.do(holder, 'recordFact', {
      animalId: young,
      origin: { originClass: 'wild' },
      reason: 'As the dates say.',
    });
    expect((await ask(holder, young)).data?.originFinding).toMatchObject({ claim: 'wild', verdict: 'consistent' });
    for (const keeper of [past, breeder])
      expect((await ask(keeper, young)).data?.originFinding).toMatchObject({ claim: 'bred', verdict: 'contradicted' });
  });

  it('a helper reads it while they help, and not after', async () => {
    const helper = await world.keeper('Helper Hollis');
    await world.db.keeperMember.create({
      data: { keeperId: holder.keeperId, accountId: helper.accountId, role: 'helper', since: new Date('2026-01-01') },
    });
    expect((await ask(helper, young)).errors).toBeUndefined();
    await world.db.keeperMember.updateMany({
      where: { keeperId: holder.keeperId, accountId: helper.accountId },
      data: { endedAt: new Date('2026-06-09') },
    });
    expect((await ask(helper, young)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });
});
