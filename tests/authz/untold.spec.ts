import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { endQuarantine } from '../support/end-quarantine.js';
import { MinorWorld } from '../support/minor-world.js';
import { PackClient } from '../support/pack-client.js';
import { type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
let world: MinorWorld;
let giver: TestKeeper;
let taker: TestKeeper;
let taxonId: string;

const TODAY = new Date().toISOString().slice(0, 10);

beforeAll(async () => {
  server = await startTestApp();
  world = new MinorWorld(server);
  [giver, taker] = [await world.keeper('Giver'), await world.keeper('Taker')];
  taxonId = await world.taxon();
});
afterAll(async () => {
  await world.close();
  await server.close();
});

const told = (answer: Answer<unknown>) => answer.errors?.map(({ message, extensions }) => [extensions.code, message]);

/** An offer of one animal that is free to go. */
async function offer(animalId: string, to = taker, more: object = {}, from = giver): Promise<string> {
  await endQuarantine(world.db, animalId, TODAY);
  const answer = await world.offer(from, to.keeperId, [animalId], more);
  if (answer.data === null) throw new Error(JSON.stringify(answer.errors));
  return answer.data.offerTransfer.transfer.id;
}

async function animalOf(transferId: string): Promise<string> {
  return (await world.db.transferItem.findFirstOrThrow({ where: { transferId } })).animalId;
}

async function handOver(animalId: string, [from, to]: [TestKeeper, TestKeeper] = [giver, taker]): Promise<void> {
  const transferId = await offer(animalId, to, {}, from);
  await world.run('acceptTransfer', { transferId }, to, 'transfer { id }');
  await world.run('sendTransfer', { transferId, sentOn: TODAY }, from, 'transfer { id }');
  const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
  const answer = await world.run('receiveTransfer', { transferId, receivedOn: TODAY, items }, to, 'transfer { id }');
  if (answer.errors !== undefined) throw new Error(JSON.stringify(answer.errors));
}

/** Each way in which somebody could see the animal today, with the name that is told. */
async function waysOf(animalId: string, who: TestKeeper): Promise<string> {
  const answer = await server.get<{ whoCouldSee: { edges: { node: { way: string; label: string | null } }[] } }>(
    'query ($id: ID!, $on: Day!) { whoCouldSee(animalId: $id, on: $on) { edges { node { way label until } } } }',
    { id: animalId, on: TODAY },
    who.token,
  );
  return answer.whoCouldSee.edges.map(({ node }) => `${node.way} ${node.label ?? '-'}`).join();
}

describe('on the day of a hand-over', () => {
  it('neither side is told to whom the other shows the animal, or for how long the other has it', async () => {
    const named = async (name: string, keeper: TestKeeper) => {
      await world.db.club.update({ where: { id: await world.club(keeper) }, data: { name } });
      await world.db.keeper.update({ where: { id: keeper.keeperId }, data: { holdingsShown: 'club' } });
    };
    await named('Before', giver);
    await named('After', taker);
    const animalId = await world.animal(giver, taxonId);
    await handOver(animalId);
    await world.run('recordDeath', { animalId, diedOn: TODAY }, taker, 'animal { id }');
    expect(await waysOf(animalId, giver)).toMatch(/has_it Taker.*club_holding Before/);
    expect(await waysOf(animalId, giver)).not.toContain('After');
    expect(await waysOf(animalId, taker)).toMatch(/had_it Giver.*club_holding After/);
    expect(await waysOf(animalId, taker)).not.toContain('Before');
  });

  it('nobody is told the name of a keeper they did not deal with over the animal', async () => {
    const third = await world.keeper('Third');
    const animalId = await world.animal(giver, taxonId);
    await handOver(animalId);
    await handOver(animalId, [taker, third]);
    expect(await waysOf(animalId, third)).toMatch(/had_it Taker/);
    expect(await waysOf(animalId, third)).not.toContain('Giver');
    expect(await waysOf(animalId, giver)).not.toContain('Third');
  });

  it('whoever takes a record up with a code is not named to the giver, to whom they told a name of their own', async () => {
    const animalId = await world.animal(giver, taxonId);
    const transfer = {
      fromKeeperId: giver.keeperId,
      kind: 'gift',
      items: [{ animalId }],
      toOutsideParty: { name: 'A buyer' },
    };
    await endQuarantine(world.db, animalId, TODAY);
    const { data } = await world.run<{ offerTransfer: { claimCode: string; transfer: { id: string } } }>(
      'offerTransfer',
      transfer,
      giver,
      'claimCode transfer { id }',
    );
    const transferId = data?.offerTransfer.transfer.id;
    const items = [{ animalId, arrivals: [{ state: 'well', count: 1 }] }];
    await world.run('acceptTransfer', { transferId }, giver, 'transfer { id }');
    await world.run('sendTransfer', { transferId, sentOn: TODAY }, giver, 'transfer { id }');
    await world.run('receiveTransfer', { transferId, receivedOn: TODAY, items }, giver, 'transfer { id }');
    const code = { claimCode: data?.offerTransfer.claimCode, keeperId: taker.keeperId };
    expect(told(await world.run('takeUpTransfer', code, taker, 'transfer { id }'))).toBeUndefined();
    expect(await waysOf(animalId, taker)).toContain('has_it Taker');
    expect(await waysOf(animalId, giver)).toMatch(/has_it -/);
    expect(await waysOf(animalId, giver)).not.toContain('Taker');
  });
});

describe('a request repeated with its key', () => {
  it('by somebody who no longer acts for the keeper reads nothing of what became of it', async () => {
    const [house, guest] = [await world.keeper('House'), await world.keeper('Dr. Vet')];
    const gone = await world.keeper('Gone');
    const member = { keeperId: house.keeperId, accountId: gone.accountId, role: 'owner' as const, since: new Date() };
    await world.db.keeperMember.create({ data: member });
    const animalId = await world.animal(house, taxonId);
    const writes = [
      ['openCollection', { keeperId: house.keeperId, name: 'Shed' }, 'collection { name sharing { holdingsShown } }'],
      ['grantReading', { animalId, toKeeperId: guest.keeperId, until: TODAY }, 'grant { until guest { label } }'],
    ] as const;
    const repeat = ([name, input, fields]: readonly [string, object, string]) =>
      server.ask(
        `mutation ($i: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $i) { ${fields} } }`,
        { i: input },
        gone.token,
        { 'idempotency-key': `once-${name}` },
      );
    for (const write of writes) expect(told(await repeat(write))).toBeUndefined();
    await world.db.keeperMember.deleteMany({ where: { keeperId: house.keeperId, accountId: gone.accountId } });
    for (const write of writes) expect(told(await repeat(write))).toEqual([['NOT_FOUND', expect.any(String)]]);
  });
});

describe('whether a keeper is a minor’s', () => {
  const SHOWN = 'transfer { countersignatures { side signed } }';
  const of = async (transferId: string, who: TestKeeper) =>
    (
      await server.get<{ transfer: { countersignatures: { side: string }[] } }>(
        'query ($id: ID!) { transfer(id: $id) { countersignatures { side signed } } }',
        { id: transferId },
        who.token,
      )
    ).transfer.countersignatures;

  it('is told by no offer, of whatever taxon, nor by what stands in its way', async () => {
    const minor = await world.minor();
    await world.db.taxon.update({
      where: { id: taxonId },
      data: { dangerous: true, dangerousSource: 'an invented authority, for this test' },
    });
    const seen: unknown[] = [];
    for (const receiver of [minor, taker]) {
      const transferId = await offer(await world.animal(giver, taxonId), receiver);
      const opened = await world.run('openHandOver', { transferId }, giver, SHOWN);
      const query = 'query ($id: ID!) { transferChecks(transferId: $id) { check fact } }';
      const checks = await server.get<object>(query, { id: transferId }, giver.token);
      seen.push([opened, checks, await of(transferId, giver)]);
      const withdrawn = await world.run('withdrawTransfer', { transferId }, giver, SHOWN);
      seen.push(withdrawn);
    }
    expect(seen.slice(0, 2)).toEqual(seen.slice(2));
    await world.db.taxon.update({ where: { id: taxonId }, data: { dangerous: false, dangerousSource: null } });
  });

  it('shows in what the other side waits for once both have agreed, and its own side hears of it before', async () => {
    const minor = await world.minor();
    const transferId = await offer(await world.animal(giver, taxonId), minor);
    expect([await of(transferId, giver), await of(transferId, minor)]).toEqual([
      [],
      [{ side: 'receiver', signed: false }],
    ]);
    const { data } = await world.run<{ openHandOver: { code: string } }>('openHandOver', { transferId }, giver, 'code');
    const items = [{ animalId: await animalOf(transferId), arrivals: [{ state: 'well', count: 1 }] }];
    const entered = { transferId, code: data?.openHandOver.code, items };
    expect(told(await world.run('confirmHandOver', entered, minor, SHOWN))).toEqual([
      ['RULE_REFUSED', 'Your side countersigns the transfer first.'],
    ]);
    await world.run('acceptTransfer', { transferId }, minor, SHOWN);
    expect(await of(transferId, giver)).toEqual([{ side: 'receiver', signed: false }]);
    expect(
      (await world.run('sendTransfer', { transferId, sentOn: TODAY }, giver, SHOWN)).errors?.[0]?.extensions.rule,
    ).toBe('TRANSFER_COUNTERSIGNATURE_AWAITED');
  });

  it('is not told of one without a guardian: to others it is as one that does not exist', async () => {
    const alone = await world.minorAlone();
    const animalId = await world.animal(giver, taxonId);
    const clubId = await world.club(giver);
    await world.db.office.create({
      data: { id: uuid(), clubId, accountId: giver.accountId, region: null, validFrom: new Date('2025-01-01') },
    });
    const asked = (keeperId: string) =>
      Promise.all([
        world.offer(giver, keeperId, [animalId]),
        world.run('grantReading', { animalId, toKeeperId: keeperId, until: TODAY }, giver, 'grant { id }'),
        world.run('inviteToClub', { clubId, keeperId }, giver, 'invitationId'),
      ]);
    const ofNobody = (await asked(uuid())).map(told);
    expect((await asked(alone.keeperId)).map(told)).toEqual(ofNobody);
    expect(ofNobody.map((errors) => errors?.[0]?.[0])).toEqual(['NOT_FOUND', 'NOT_FOUND', 'NOT_FOUND']);
  });
});

describe('a parent that is named', () => {
  const born = (edtf: string) => ({ birth: { edtf, manner: 'hatched' } });
  const claim = (input: object) =>
    world.run<{ recordParent: { warnings: { code: string }[] } }>('recordParent', input, giver, 'warnings { code }');

  it('tells who gave it away nothing of the sex or the death recorded since', async () => {
    const parentId = await world.animal(giver, taxonId, born('2015'));
    const child = () => world.animal(giver, taxonId, born(TODAY));
    await handOver(parentId);
    await world.run('recordFact', { animalId: parentId, sex: { sex: 'female' } }, taker, 'animal { id }');
    await world.run('recordDeath', { animalId: parentId, on: TODAY }, taker, 'animal { id }');
    for (const role of ['sire', 'dam'])
      expect(await claim({ animalId: await child(), role, parentId })).toMatchObject({
        data: { recordParent: { warnings: [] } },
      });
  });

  it('tells a club-mate nothing of its death', async () => {
    const parentId = await world.animal(taker, taxonId, { sex: 'male', ...born('2015'), since: '2016-01-01' });
    await world.club(giver, taker);
    await world.run('recordDeath', { animalId: parentId, on: '2020-01-01' }, taker, 'animal { id }');
    const animalId = await world.animal(giver, taxonId, born('2025'));
    expect(await claim({ animalId, role: 'sire', parentId })).toMatchObject({
      data: { recordParent: { warnings: [] } },
    });
  });

  it('and was taken back is not in the pack of whoever is only offered the animal, nor why', async () => {
    const [wrong, right] = [
      await world.animal(giver, taxonId, born('2015')),
      await world.animal(giver, taxonId, born('2015')),
    ];
    const animalId = await world.animal(giver, taxonId, born('2025'));
    await claim({ animalId, role: 'dam', parentId: wrong });
    await claim({ animalId, role: 'dam', parentId: right, reason: 'Mixed up by a person' });
    const transferId = await offer(animalId);
    const parents = async (who: TestKeeper) =>
      JSON.stringify(
        (await new PackClient(server).archive(who, `/animals/${animalId}/record.zip`)).pack.animals[0]?.parents,
      );
    expect(await parents(giver)).toContain('Mixed up by a person');
    expect(await parents(taker)).not.toContain('Mixed up');
    expect(JSON.parse(await parents(taker))).toHaveLength(1);
    await world.run('withdrawTransfer', { transferId }, giver, 'transfer { id }');
    await expect(parents(taker)).rejects.toThrow('NOT_FOUND');
  });
});
