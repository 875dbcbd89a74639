import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { FINDING, type Finding, OriginWorld } from '../support/origin-world.js';
import { endQuarantine } from '../support/end-quarantine.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
let world: RegistryWorld;
let origin: OriginWorld;

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
  origin = new OriginWorld(server, world);
  server.setDay('2026-06-10');
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});

/** A mutation of transfers; its answer is the transfer's id. */
async function step(by: TestKeeper, name: string, input: object): Promise<string> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const answer = await server.get<Record<string, { transfer: { id: string } }>>(
    `mutation ($input: ${type}!) { ${name}(input: $input) { transfer { id } } }`,
    { input },
    by.token,
  );
  return answer[name]?.transfer.id ?? '';
}

async function handOver(from: TestKeeper, to: TestKeeper, animalId: string, on: string): Promise<void> {
  const ids = { fromKeeperId: from.keeperId, toKeeperId: to.keeperId };
  const transferId = await step(from, 'offerTransfer', { ...ids, kind: 'gift', items: [{ animalId }] });
  await step(to, 'acceptTransfer', { transferId });
  await endQuarantine(world.db, animalId, on);
  await step(from, 'sendTransfer', { transferId, sentOn: on });
  const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
  await step(to, 'receiveTransfer', { transferId, receivedOn: on, items });
}

describe('a request repeated with its key after the authority ended', () => {
  it('shows a former helper nothing of how the quarantine stands now', async () => {
    const [keeper, helper] = [await world.keeper('Group House'), await world.keeper('Helper')];
    const member = { keeperId: keeper.keeperId, accountId: helper.accountId };
    await world.db.keeperMember.create({ data: { ...member, role: 'helper', since: new Date('2026-01-01') } });
    const taxon = await world.taxon();
    const animals = [await world.animal(keeper, taxon), await world.animal(keeper, taxon)];
    const { openQuarantine } = await server.get<{ openQuarantine: { quarantine: { id: string } } }>(
      'mutation ($input: OpenQuarantineInput!) { openQuarantine(input: $input) { quarantine { id } } }',
      { input: { keeperId: keeper.keeperId, animalIds: animals.slice(0, 1), enteredOn: '2026-06-10' } },
      keeper.token,
    );
    const key = { 'idempotency-key': uuid() };
    const input = { groupId: openQuarantine.quarantine.id, animalIds: animals.slice(1), enteredOn: '2026-06-10' };
    const join = () =>
      server.ask(
        'mutation ($input: JoinQuarantineInput!) { joinQuarantine(input: $input) { quarantine { name entries { registerNumber } } } }',
        { input },
        helper.token,
        key,
      );
    expect((await join()).errors).toBeUndefined();
    expect((await join()).errors).toBeUndefined();
    await world.db.keeperMember.updateMany({ where: member, data: { endedAt: new Date('2026-06-10') } });
    const after = await join();
    expect(after.data).toBeNull();
    expect(after.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });

  it('shows a former registrar nothing of an office of others, and of the own one that it ended', async () => {
    const [registrar, other] = [await world.keeper('Registrar'), await world.keeper('Other House')];
    const clubId = await world.club(registrar, other);
    const office = { clubId, validFrom: new Date('2026-01-01') };
    const [own, second, third] = [uuid(), uuid(), uuid()];
    await world.db.office.createMany({
      data: [
        { ...office, id: own, accountId: registrar.accountId },
        { ...office, id: second, accountId: other.accountId },
        { ...office, id: third, accountId: other.accountId, region: 'AT-7' },
      ],
    });
    const keys = new Map([own, third].map((id) => [id, { 'idempotency-key': uuid() }]));
    const end = (officeId: string) =>
      server.ask<{ endOffice: { office: { validTo: string } } }>(
        'mutation ($input: EndOfficeInput!) { endOffice(input: $input) { office { holder validTo } } }',
        { input: { officeId } },
        registrar.token,
        keys.get(officeId),
      );
    expect((await end(third)).errors).toBeUndefined();
    expect((await end(own)).errors).toBeUndefined();
    expect((await end(own)).data?.endOffice.office.validTo).toBe('2026-06-10');
    const after = await end(third);
    expect(after.data).toBeNull();
    expect(after.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });
});

describe('a past holder, of what was recorded since', () => {
  it('learns no ancestor further back, and no number that would tell one', async () => {
    server.setDay(null);
    const [giver, receiver, breeder] = [
      await world.keeper('Giver House'),
      await world.keeper('Receiver House'),
      await world.keeper('Breeder House'),
    ];
    const clubId = await world.club(giver, breeder);
    const taxon = await world.taxon();
    const grandsire = await world.animal(breeder, taxon, { sex: 'male' });
    const dam = await world.animal(breeder, taxon, { sex: 'female' });
    const young = await world.animal(giver, taxon, { damId: dam });
    const sibling = await world.animal(giver, taxon, { damId: dam });
    const today = new Date().toISOString().slice(0, 10);
    await handOver(giver, receiver, young, today);
    const lineage = () =>
      server.get(
        `query ($id: ID) { animal(id: $id) { viewerLevel ancestors { path } inbreeding { value knownAncestry } } }`,
        { id: young },
        giver.token,
      );
    const relation = (b: string) =>
      server.ask<{ relationship: { kinship: number } }>(
        `query ($a: ID!, $b: ID!) { relationship(a: $a, b: $b) { kinship knownAncestry } }`,
        { a: young, b },
        giver.token,
      );
    expect(await lineage()).toMatchObject({ animal: { viewerLevel: 'past', ancestors: [{ path: 'd' }] } });
    expect((await relation(sibling)).data?.relationship.kinship).toBe(0.125);
    // An ancestor that nobody of the giver's clubs has.
    await world.db.clubMember.updateMany({ where: { clubId }, data: { leftOn: new Date(`${today}T00:00:00Z`) } });
    await origin.do(breeder, 'recordParent', { animalId: dam, role: 'sire', parentId: grandsire, reason: 'old book' });
    expect(await lineage()).toEqual({ animal: { viewerLevel: 'past', ancestors: null, inbreeding: null } });
    const after = await relation(sibling);
    expect(after.data).toBeNull();
    expect(after.errors?.[0]?.extensions).toMatchObject({ code: 'RULE_REFUSED', rule: 'LINEAGE_CHANGED_SINCE' });
    // Who has it reads the lineage as it is.
    const now = await server.get<{ animal: { ancestors: { path: string; shown: boolean }[] } }>(
      `query ($id: ID) { animal(id: $id) { ancestors { path shown } } }`,
      { id: young },
      receiver.token,
    );
    expect(now.animal.ancestors.map(({ path }) => path)).toEqual(['d', 'ds']);
    server.setDay('2026-06-10');
  });

  it('does not learn from the finding of origin who got the animal later', async () => {
    server.setDay('2026-01-05');
    const [breeder, next, witness] = [
      await world.keeper('Breeder'),
      await world.keeper('Next'),
      await world.keeper('Witness'),
    ];
    await world.club(breeder, witness);
    const taxon = await origin.taxon();
    const dam = await world.animal(witness, taxon, { sex: 'female' });
    await origin.do(witness, 'recordMating', { damId: dam, when: '2026-01-05', controlled: 'yes' });
    const young = await world.animal(breeder, taxon, { originClass: 'bred', damId: dam });
    server.setDay('2026-02-01');
    await handOver(breeder, next, young, '2026-02-01');
    const finding = async () =>
      (await server.get<{ originFinding: Finding }>(FINDING, { animalId: young }, breeder.token)).originFinding;
    const before = await finding();
    expect(before.items.map(({ words }) => words)).toContain(
      'At least one entry comes from an authority, or from a keeper who never had the animal.',
    );
    server.setDay('2026-03-01');
    await handOver(next, witness, young, '2026-03-01');
    expect(await finding()).toEqual(before);
    server.setDay('2026-06-10');
  });
});
