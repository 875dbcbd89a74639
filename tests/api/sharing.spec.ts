import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { endQuarantine } from '../support/end-quarantine.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let holder: TestKeeper;
let mate: TestKeeper;
let vet: TestKeeper;
let buyer: TestKeeper;
let stranger: TestKeeper;
let clubId: string;
let taxonId: string;
let animalId: string;

const TODAY = new Date().toISOString().slice(0, 10);
const dayFrom = (days: number): string => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  [holder, mate, vet, buyer, stranger] = [
    await world.keeper('Holding House'),
    await world.keeper('Mate'),
    await world.keeper('Dr. Vet'),
    await world.keeper('Buyer'),
    await world.keeper('Stranger'),
  ];
  clubId = await world.club(holder, mate, buyer);
  taxonId = await world.taxon();
});
afterAll(async () => {
  await world.close();
  await test.close();
});
beforeEach(async () => {
  animalId = await world.animal(holder, taxonId, { name: 'Fern' });
  await world.db.keeper.update({
    where: { id: holder.keeperId },
    data: { holdingsShown: 'nobody', lineageShared: true },
  });
});

const PAYLOADS: Record<string, string> = {
  openCollection: 'collection { id name sharing { holdingsShown lineageWithheld } }',
  renameCollection: 'collection { id name }',
  setCollectionSharing: 'collection { id sharing { holdingsShown lineageWithheld } }',
  moveToCollection: 'animals { id collection { id } }',
  setAnimalSharing: 'animals { id sharing { own { holdingsShown lineageWithheld } holdingsShown lineageShared } }',
  grantReading: 'grant { id until guest { label } grantedBy { label } animal { id } }',
  endGrant: 'grant { id until animal { id } }',
  offerTransfer: 'transfer { id }',
  acceptTransfer: 'transfer { id }',
  sendTransfer: 'transfer { id }',
  receiveTransfer: 'transfer { id items { animal { id } } }',
  splitLot: 'newLot { id }',
};
type Payload = { id: string; until: string; animal: { id: string } | null; items: { animal: { id: string } }[] };
const write = (name: string, input: object, keeper: TestKeeper) =>
  test.ask<Record<string, Record<string, Payload>>>(
    `mutation ($input: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { ${PAYLOADS[name] ?? ''} } }`,
    { input },
    keeper.token,
  );
async function done(name: string, input: object, keeper: TestKeeper): Promise<Payload> {
  const answer = await write(name, input, keeper);
  if (answer.errors !== undefined) throw new Error(JSON.stringify(answer.errors));
  const [payload] = Object.values(answer.data?.[name] ?? {});
  return payload as Payload;
}
const ruleOf = (answer: Awaited<ReturnType<typeof write>>) =>
  answer.errors?.[0]?.extensions.rule ?? answer.errors?.[0]?.extensions.code;

type Seen = { viewerLevel: string; name: string | null; holder: { label: string } | null };
const seen = async (keeper: TestKeeper, id = animalId): Promise<Seen | null> =>
  (
    await test.ask<{ animal: Seen }>(
      'query ($id: ID!) { animal(id: $id) { viewerLevel name holder { label } } }',
      { id },
      keeper.token,
    )
  ).data?.animal ?? null;
const holderShown = async (keeper: TestKeeper): Promise<boolean> => ((await seen(keeper))?.holder ?? null) !== null;

async function handOver(id: string, from: TestKeeper, to: TestKeeper, count?: number): Promise<string> {
  await endQuarantine(world.db, id, TODAY);
  const items = [{ animalId: id, ...(count === undefined ? {} : { count }) }];
  const offer = { fromKeeperId: from.keeperId, toKeeperId: to.keeperId, kind: 'gift', items };
  const { id: transferId } = await done('offerTransfer', offer, from);
  await done('acceptTransfer', { transferId }, to);
  await done('sendTransfer', { transferId, sentOn: TODAY }, from);
  const received = await done(
    'receiveTransfer',
    { transferId, receivedOn: TODAY, items: [{ animalId: id, arrivals: [{ state: 'well', count: 1 }] }] },
    to,
  );
  return received.items[0]?.animal.id ?? id;
}

describe('who learns that a keeper has an animal', () => {
  it('is set for everything, a collection and an animal, and the nearest counts', async () => {
    const { id: collectionId } = await done('openCollection', { keeperId: holder.keeperId, name: uuid() }, holder);
    await done('moveToCollection', { animalIds: [animalId], collectionId }, holder);
    expect(await holderShown(mate)).toBe(false);
    await done('setCollectionSharing', { collectionId, holdingsShown: 'club', lineageWithheld: false }, holder);
    expect(await holderShown(mate)).toBe(true);
    await done(
      'setAnimalSharing',
      { animalIds: [animalId], holdingsShown: 'coordinator', lineageWithheld: false },
      holder,
    );
    expect(await holderShown(mate)).toBe(false);
    await done('setAnimalSharing', { animalIds: [animalId], lineageWithheld: false }, holder);
    expect(await holderShown(mate)).toBe(true);
    await done('moveToCollection', { animalIds: [animalId] }, holder);
    expect(await holderShown(mate)).toBe(false);
    await world.db.keeper.update({ where: { id: holder.keeperId }, data: { holdingsShown: 'club' } });
    expect(await holderShown(mate)).toBe(true);
  });

  it('the other party of an open transfer is told for every audience but nobody', async () => {
    await endQuarantine(world.db, animalId, TODAY);
    const offer = { fromKeeperId: holder.keeperId, toKeeperId: stranger.keeperId, kind: 'gift', items: [{ animalId }] };
    await done('offerTransfer', offer, holder);
    expect(await seen(stranger)).toMatchObject({ viewerLevel: 'offered', holder: null });
    await done(
      'setAnimalSharing',
      { animalIds: [animalId], holdingsShown: 'other_party', lineageWithheld: false },
      holder,
    );
    expect((await seen(stranger))?.holder).toEqual({ label: 'Holding House' });
    expect(await holderShown(mate)).toBe(false);
  });

  it('lineage withheld at any level is not shown in the club', async () => {
    expect(await seen(mate)).toMatchObject({ viewerLevel: 'club' });
    await done('setAnimalSharing', { animalIds: [animalId], lineageWithheld: true }, holder);
    expect(await seen(mate)).toBeNull();
    expect(await seen(holder)).toMatchObject({ viewerLevel: 'full' });
    await done('setAnimalSharing', { animalIds: [animalId], lineageWithheld: false }, holder);
    const { id: collectionId } = await done('openCollection', { keeperId: holder.keeperId, name: uuid() }, holder);
    await done('setCollectionSharing', { collectionId, lineageWithheld: true }, holder);
    expect(await seen(mate)).not.toBeNull();
    await done('moveToCollection', { animalIds: [animalId], collectionId }, holder);
    expect(await seen(mate)).toBeNull();
  });

  it('what was set falls away when the animal goes to another keeper', async () => {
    const { id: collectionId } = await done('openCollection', { keeperId: holder.keeperId, name: uuid() }, holder);
    await done('moveToCollection', { animalIds: [animalId], collectionId }, holder);
    await done('setAnimalSharing', { animalIds: [animalId], holdingsShown: 'club', lineageWithheld: true }, holder);
    await handOver(animalId, holder, buyer);
    expect(await seen(mate)).toMatchObject({ viewerLevel: 'club', holder: null });
    const { animal } = await test.get<{ animal: { collection: null; sharing: object } }>(
      'query ($id: ID!) { animal(id: $id) { collection { id } sharing { own { holdingsShown lineageWithheld } lineageShared } } }',
      { id: animalId },
      buyer.token,
    );
    expect(animal).toEqual({
      collection: null,
      sharing: { own: { holdingsShown: null, lineageWithheld: false }, lineageShared: true },
    });
  });

  it('what comes out of a lot is hidden as the lot was', async () => {
    const lotId = await world.lot(holder, taxonId, 5);
    const { id: collectionId } = await done('openCollection', { keeperId: holder.keeperId, name: uuid() }, holder);
    await done('setCollectionSharing', { collectionId, lineageWithheld: true }, holder);
    await done('moveToCollection', { animalIds: [lotId], collectionId }, holder);
    await done('setAnimalSharing', { animalIds: [lotId], holdingsShown: 'club', lineageWithheld: false }, holder);
    const { id: part } = await done('splitLot', { lotId, count: 2 }, holder);
    expect(await seen(mate, part)).toBeNull();
    await done('moveToCollection', { animalIds: [part] }, holder);
    expect(await seen(mate, part)).toMatchObject({ holder: { label: 'Holding House' } });
  });

  it('is for owners of the keeper to decide, and a collection takes what its keeper has', async () => {
    const input = { keeperId: holder.keeperId, name: uuid() };
    const { id: collectionId } = await done('openCollection', input, holder);
    expect(ruleOf(await write('openCollection', { ...input, name: input.name.toUpperCase() }, holder))).toBe(
      'COLLECTION_NAME_TAKEN',
    );
    expect(ruleOf(await write('openCollection', input, mate))).toBe('NOT_FOUND');
    expect(ruleOf(await write('renameCollection', { collectionId, name: 'x' }, mate))).toBe('NOT_FOUND');
    expect(ruleOf(await write('setCollectionSharing', { collectionId, lineageWithheld: false }, mate))).toBe(
      'NOT_FOUND',
    );
    expect(ruleOf(await write('moveToCollection', { animalIds: [animalId], collectionId }, mate))).toBe('NOT_FOUND');
    expect(ruleOf(await write('setAnimalSharing', { animalIds: [animalId], lineageWithheld: true }, mate))).toBe(
      'FORBIDDEN',
    );
    await world.db.keeperMember.create({
      data: { keeperId: holder.keeperId, accountId: vet.accountId, role: 'helper', since: new Date() },
    });
    const helper = { ...vet };
    for (const [name, more] of [
      ['openCollection', input],
      ['renameCollection', { collectionId, name: 'x' }],
      ['setCollectionSharing', { collectionId, lineageWithheld: false }],
      ['moveToCollection', { animalIds: [animalId], collectionId }],
      ['setAnimalSharing', { animalIds: [animalId], lineageWithheld: true }],
      ['grantReading', { animalId, toKeeperId: mate.keeperId, until: TODAY }],
    ] as const)
      expect([name, ruleOf(await write(name, more, helper))]).toEqual([name, 'FORBIDDEN']);
    await world.db.keeperMember.deleteMany({ where: { keeperId: holder.keeperId, accountId: vet.accountId } });
    const elsewhere = await world.animal(mate, taxonId);
    expect(ruleOf(await write('moveToCollection', { animalIds: [elsewhere], collectionId }, holder))).toBe('FORBIDDEN');
  });

  it('each change leaves a period that is never changed afterwards', async () => {
    for (const holdingsShown of ['club', 'nobody', 'coordinator'])
      await done('setAnimalSharing', { animalIds: [animalId], holdingsShown, lineageWithheld: false }, holder);
    const rows = await world.db.sharingSetting.findMany({
      where: { access: { animalId, relation: 'holder' } },
      orderBy: { setAt: 'asc' },
    });
    expect(rows.map(({ holdings, endedAt }) => [holdings, endedAt === null])).toEqual([
      ['club', false],
      ['nobody', false],
      ['coordinator', true],
    ]);
    expect(rows.map(({ setBy }) => setBy)).toEqual(Array(3).fill(holder.accountId));
    const id = rows[0]?.id ?? '';
    await expect(world.db.sharingSetting.update({ where: { id }, data: { holdings: 'nobody' } })).rejects.toThrow();
    await expect(world.db.sharingSetting.delete({ where: { id } })).rejects.toThrow();
  });
});

describe('a guest', () => {
  const grant = (until = dayFrom(30)) => done('grantReading', { animalId, toKeeperId: vet.keeperId, until }, holder);

  it('reads the record and its quarantine, and neither papers nor who has it', async () => {
    await done('setAnimalSharing', { animalIds: [animalId], lineageWithheld: true }, holder);
    expect(await seen(vet)).toBeNull();
    const granted = await grant();
    expect(granted).toMatchObject({ until: dayFrom(31), guest: { label: 'Dr. Vet' }, animal: { id: animalId } });
    await test.get(
      'mutation ($input: OpenQuarantineInput!) { openQuarantine(input: $input) { quarantine { id } } }',
      { input: { keeperId: holder.keeperId, name: 'Back room', animalIds: [animalId], enteredOn: TODAY } },
      holder.token,
    );
    const { animal, myReading } = await test.get<{ animal: object; myReading: { edges: object[] } }>(
      `query ($id: ID!, $k: ID!) {
         animal(id: $id) { viewerLevel name holder { label } quarantine { until group { name } } documents { edges { cursor } }
           sharing { lineageShared } guests { edges { cursor } } parentageHistory { edges { cursor } } factHistory { edges { cursor } } }
         myReading(keeperId: $k) { edges { node { id animal { id } } } } }`,
      { id: animalId, k: vet.keeperId },
      vet.token,
    );
    expect(animal).toEqual({
      viewerLevel: 'guest',
      name: 'Fern',
      holder: null,
      quarantine: { until: dayFrom(60), group: null },
      documents: null,
      sharing: null,
      guests: null,
      parentageHistory: null,
      factHistory: null,
    });
    expect(myReading.edges).toContainEqual({ node: { id: granted.id, animal: { id: animalId } } });
  });

  it('changes nothing', async () => {
    await grant();
    const death = await test.ask(
      'mutation ($input: RecordDeathInput!) { recordDeath(input: $input) { animal { id } } }',
      { input: { animalId } },
      vet.token,
    );
    expect(death.errors?.[0]?.extensions.code).toBe('FORBIDDEN');
    expect(ruleOf(await write('grantReading', { animalId, toKeeperId: mate.keeperId, until: TODAY }, vet))).toBe(
      'FORBIDDEN',
    );
  });

  it('reads to the end of its last day and no longer, and once', async () => {
    const { id } = await grant(TODAY);
    expect(await seen(vet)).toMatchObject({ viewerLevel: 'guest' });
    expect(ruleOf(await write('grantReading', { animalId, toKeeperId: vet.keeperId, until: TODAY }, holder))).toBe(
      'ALREADY_A_GUEST',
    );
    await world.db.animalAccess.update({
      where: { id },
      data: { validFrom: new Date(dayFrom(-1)), validTo: new Date(TODAY) },
    });
    expect(await seen(vet)).toBeNull();
    expect(ruleOf(await write('endGrant', { grantId: id }, holder))).toBe('GRANT_OVER');
    expect(await grant()).toMatchObject({ animal: { id: animalId } });
  });

  it('is let in for a day within a year, by a keeper who has or owns the animal', async () => {
    for (const until of [dayFrom(-1), dayFrom(367)])
      expect(ruleOf(await write('grantReading', { animalId, toKeeperId: vet.keeperId, until }, holder))).toBe(
        'INVALID_INPUT',
      );
    const input = { animalId, toKeeperId: vet.keeperId, until: TODAY };
    expect(ruleOf(await write('grantReading', input, mate))).toBe('FORBIDDEN');
    expect(ruleOf(await write('grantReading', input, stranger))).toBe('NOT_FOUND');
    expect(ruleOf(await write('grantReading', { ...input, toKeeperId: uuid() }, holder))).toBe('NOT_FOUND');
    expect(ruleOf(await write('grantReading', { ...input, toKeeperId: holder.keeperId }, holder))).toBe('GUEST_HAS_IT');
  });

  it('ends at once by who granted it, or by the guest, and for nobody else', async () => {
    const first = await grant();
    for (const other of [mate, stranger])
      expect(ruleOf(await write('endGrant', { grantId: first.id }, other))).toBe('NOT_FOUND');
    await done('endGrant', { grantId: first.id }, holder);
    expect(await seen(vet)).toBeNull();
    const second = await grant();
    expect((await done('endGrant', { grantId: second.id }, vet)).animal).toBeNull();
  });

  it('goes when the animal leaves the keeper who granted it', async () => {
    await grant();
    await handOver(animalId, holder, buyer);
    expect(await seen(vet)).toBeNull();
    const row = await world.db.readingGrant.findFirstOrThrow({ where: { access: { animalId } } });
    expect(row.endedAt).not.toBeNull();
  });
});

describe('who could see an animal', () => {
  // A keeper of its own: what one set for everything counts for the whole day.
  beforeAll(async () => {
    holder = await world.keeper('Holding House');
    await world.db.clubMember.create({
      data: { id: uuid(), clubId, keeperId: holder.keeperId, joinedOn: new Date('2025-01-01') },
    });
  });

  type Sight = { way: string; label: string | null; keeperId: string | null; since: string; until: string | null };
  const ask = async (keeper: TestKeeper, on: string) =>
    test.ask<{ whoCouldSee: { edges: { node: Sight }[] } }>(
      `query ($id: ID!, $on: Day!) { whoCouldSee(animalId: $id, on: $on) { edges { node { way label keeperId clubId since until } } } }`,
      { id: animalId, on },
      keeper.token,
    );
  const waysOf = async (keeper: TestKeeper, on = TODAY): Promise<string[]> =>
    ((await ask(keeper, on)).data?.whoCouldSee.edges ?? []).map(({ node }) => `${node.way} ${node.label ?? '-'}`);

  it('names each way, also one that held for an hour of the day', async () => {
    expect(await waysOf(holder)).toEqual(['has_it Holding House', 'owns_it Holding House', 'club_lineage A club']);
    await done('setAnimalSharing', { animalIds: [animalId], holdingsShown: 'club', lineageWithheld: false }, holder);
    await done('setAnimalSharing', { animalIds: [animalId], holdingsShown: 'nobody', lineageWithheld: true }, holder);
    await done('grantReading', { animalId, toKeeperId: vet.keeperId, until: dayFrom(3) }, holder);
    expect(await seen(mate)).toBeNull();
    expect(await waysOf(holder)).toEqual([
      'has_it Holding House',
      'owns_it Holding House',
      'guest Dr. Vet',
      'club_lineage A club',
      'club_holding A club',
    ]);
  });

  it('is for a past holder to ask about the time the animal was theirs', async () => {
    await handOver(animalId, holder, buyer);
    expect(await waysOf(holder)).toContain('has_it Buyer');
    expect(await waysOf(buyer)).toContain('had_it Holding House');
    expect((await ask(holder, dayFrom(-30))).errors?.[0]?.extensions.code).toBe('FORBIDDEN');
    expect((await ask(buyer, dayFrom(-30))).errors?.[0]?.extensions.code).toBe('FORBIDDEN');
    expect((await ask(mate, TODAY)).errors?.[0]?.extensions.code).toBe('FORBIDDEN');
    expect((await ask(stranger, TODAY)).errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    expect((await ask(buyer, dayFrom(1))).errors?.[0]?.extensions.code).toBe('INVALID_INPUT');
  });

  it('counts a coordinator where the audience is the coordinator, and only then', async () => {
    await world.db.office.create({
      data: { id: uuid(), clubId, accountId: vet.accountId, region: 'XA-NO', validFrom: new Date('2025-01-01') },
    });
    await world.db.keeper.update({ where: { id: holder.keeperId }, data: { region: 'XA-NO' } });
    expect(await waysOf(holder)).not.toContain('coordinator_count A club');
    await done(
      'setAnimalSharing',
      { animalIds: [animalId], holdingsShown: 'coordinator', lineageWithheld: false },
      holder,
    );
    expect(await waysOf(holder)).toContain('coordinator_count A club');
  });
});
