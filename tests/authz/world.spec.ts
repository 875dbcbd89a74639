import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { seededRandom } from '../../apps/bench/src/herd.js';
import {
  type AccessFact,
  accessLevel,
  type AccessLevel,
  type Audience,
  fieldsShown,
  resolveSharing,
  showsHolder,
} from '../../libs/access/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/**
 * A generated world: keepers in clubs, helpers, settings for everything, collections and animals, hand-overs, shares, offers,
 * guests, threads, quarantines and deaths. For every account and every animal the API shows, field by field, what the policy of
 * `access` gives for facts that are read here from custody, ownership, transfers, grants and settings one by one, and neither
 * from `animal_access` nor by any scope.
 */

const TODAY = new Date().toISOString().slice(0, 10);
const YESTERDAY = new Date(Date.now() - 86_400_000);
const random = seededRandom(Number(process.env['FAST_CHECK_SEED'] ?? 7));
const chance = (share: number): boolean => random() < share;
const pick = <T>(list: readonly T[]): T => list[Math.floor(random() * list.length)] as T;
const pickApart = <T>(list: readonly T[], ...from: T[]): T => pick(list.filter((each) => !from.includes(each)));

const AUDIENCES: readonly Audience[] = ['nobody', 'other_party', 'coordinator', 'club'];
const ANIMALS = 30;
const KEEPERS = 8;

type Actor = { readonly name: string; readonly token: string; readonly keepers: readonly string[] };

let test: TestApp;
let world: RegistryWorld;
const keepers: TestKeeper[] = [];
const actors: Actor[] = [];
const animals: { id: string; registrar: TestKeeper }[] = [];

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  for (let i = 0; i < KEEPERS; i += 1) {
    const keeper = await world.keeper(`Keeper ${i}`);
    keepers.push(keeper);
    actors.push({ name: `keeper ${i}`, token: keeper.token, keepers: [keeper.keeperId] });
  }
  // 0 to 3 share a club, 3 and 4 another; 5 has left the first, 6 and 7 are in none. 4 helps 0.
  await world.club(...keepers.slice(0, 4));
  await world.club(keepers[3] as TestKeeper, keepers[4] as TestKeeper);
  const { clubId } = await world.db.clubMember.findFirstOrThrow({ where: { keeperId: keepers[0]?.keeperId ?? '' } });
  await world.db.clubMember.create({
    data: {
      clubId,
      keeperId: keepers[5]?.keeperId ?? '',
      joinedOn: new Date('2024-01-01'),
      leftOn: new Date('2025-01-01'),
    },
  });
  const helper = await world.keeper('Helper');
  await world.db.keeperMember.create({
    data: { keeperId: keepers[0]?.keeperId ?? '', accountId: helper.accountId, role: 'helper', since: new Date() },
  });
  actors.push({ name: 'helper of 0', token: helper.token, keepers: [helper.keeperId, keepers[0]?.keeperId ?? ''] });
  const officer = await world.keeper('Coordinator');
  await world.db.office.create({
    data: { id: uuid(), clubId, accountId: officer.accountId, region: null, validFrom: new Date('2025-01-01') },
  });
  actors.push({ name: 'registrar', token: officer.token, keepers: [officer.keeperId] });
  for (const keeper of keepers)
    await write('setSharing', keeper, {
      keeperId: keeper.keeperId,
      holdingsShown: pick(AUDIENCES),
      lineageShared: chance(0.8),
    });
  const taxonId = await world.taxon();
  const collections = new Map<string, string>();
  for (const keeper of keepers) {
    await write('openCollection', keeper, { keeperId: keeper.keeperId, name: 'Shed' });
    const { id } = await world.db.collection.findFirstOrThrow({ where: { keeperId: keeper.keeperId } });
    collections.set(keeper.keeperId, id);
    if (chance(0.7))
      await write('setCollectionSharing', keeper, {
        collectionId: id,
        holdingsShown: pick([null, ...AUDIENCES]),
        lineageWithheld: chance(0.3),
      });
  }
  for (let i = 0; i < ANIMALS; i += 1) await live(i, taxonId, collections);
}, 300_000);
afterAll(async () => {
  await world.close();
  await test.close();
});

async function write(name: string, by: TestKeeper, input: object): Promise<void> {
  await test.get(
    `mutation ($input: ${name[0]?.toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { __typename } }`,
    { input },
    by.token,
  );
}

/** The life of one animal: who registers it, whom it goes to, who is let in, what is set. */
async function live(i: number, taxonId: string, collections: ReadonlyMap<string, string>): Promise<void> {
  const registrar = pick(keepers);
  const animalId = await world.animal(registrar, taxonId, { name: `Animal ${i}` });
  animals.push({ id: animalId, registrar });
  await write('recordFact', registrar, { animalId, note: { topic: 'care', text: 'For all' } });
  await write('recordFact', registrar, { animalId, note: { topic: 'private', text: 'For us' } });
  const set = async (keeper: TestKeeper): Promise<void> => {
    if (chance(0.5))
      await write('moveToCollection', keeper, {
        animalIds: [animalId],
        collectionId: collections.get(keeper.keeperId),
      });
    if (chance(0.4))
      await write('setAnimalSharing', keeper, {
        animalIds: [animalId],
        holdingsShown: pick([null, ...AUDIENCES]),
        lineageWithheld: chance(0.3),
      });
  };
  const grant = async (keeper: TestKeeper): Promise<void> => {
    await write('grantReading', keeper, {
      animalId,
      toKeeperId: pickApart(keepers, keeper, registrar).keeperId,
      until: TODAY,
    });
  };
  await set(registrar);
  if (chance(0.3)) await grant(registrar);
  let holder = registrar;
  if (chance(0.4)) {
    holder = pickApart(keepers, registrar);
    await handOver(animalId, registrar, holder);
    await set(holder);
  }
  if (chance(0.3)) {
    const guest = await world.db.animalAccess.findFirst({
      where: { animalId, relation: 'guest', validTo: { gt: new Date(TODAY) } },
    });
    if (guest === null) await grant(holder);
    else if (chance(0.5)) await write('endGrant', holder, { grantId: guest.id });
  }
  const asker = keepers.find((each) => each !== holder && sharesClub(each, holder));
  if (asker !== undefined && chance(0.5)) await ask(animalId, asker, holder);
  if (chance(0.3)) {
    await letOut(animalId);
    await write('openQuarantine', holder, { keeperId: holder.keeperId, animalIds: [animalId], enteredOn: TODAY });
  } else if (chance(0.4)) {
    await letOut(animalId);
    await write('offerTransfer', holder, {
      fromKeeperId: holder.keeperId,
      toKeeperId: pickApart(keepers, holder).keeperId,
      kind: 'sale',
      price: { minor: 5000, currency: 'EUR' },
      items: [{ animalId }],
    });
  } else if (chance(0.2)) await write('recordDeath', holder, { animalId });
}

const sharesClub = (a: TestKeeper, b: TestKeeper): boolean =>
  [
    [0, 1, 2, 3],
    [3, 4],
  ].some((club) => club.includes(keepers.indexOf(a)) && club.includes(keepers.indexOf(b)));

async function ask(animalId: string, asker: TestKeeper, holder: TestKeeper): Promise<void> {
  // A club-mate whom the lineage is withheld from cannot ask: then there is no thread.
  const asked = await test.ask(
    'mutation ($input: AskHolderInput!) { askHolder(input: $input) { thread { id } } }',
    { input: { animalId, message: 'May I?', keeperId: asker.keeperId } },
    asker.token,
  );
  if (asked.errors !== undefined) return;
  const thread = await world.db.askThread.findFirst({ where: { animalId, closedAt: null } });
  if (thread === null || !chance(0.7)) return;
  await write('answerThread', holder, { threadId: thread.id, message: 'Perhaps', reveal: chance(0.8) });
  if (chance(0.2)) await write('closeThread', holder, { threadId: thread.id });
}

/** No quarantine stands in the way of a hand-over. */
async function letOut(animalId: string): Promise<void> {
  await world.db.quarantineEntry.updateMany({ where: { animalId, leftOn: null }, data: { leftOn: new Date(TODAY) } });
}

async function handOver(animalId: string, from: TestKeeper, to: TestKeeper): Promise<void> {
  await letOut(animalId);
  await write('offerTransfer', from, {
    fromKeeperId: from.keeperId,
    toKeeperId: to.keeperId,
    kind: 'gift',
    items: [{ animalId }],
  });
  const { id: transferId } = await world.db.transfer.findFirstOrThrow({
    where: { state: 'offered', items: { some: { animalId } } },
  });
  await write('acceptTransfer', to, { transferId });
  await write('sendTransfer', from, { transferId, sentOn: TODAY });
  await write('receiveTransfer', to, {
    transferId,
    receivedOn: TODAY,
    items: [{ animalId, arrivals: [{ state: 'well', count: 1 }] }],
  });
  // The note that goes with the animal was recorded before; its new keeper writes another.
  await write('recordFact', to, { animalId, note: { topic: 'private', text: 'For us' } });
}

/** Rows as they lie in the database, read without any scope. */
async function readRows() {
  const { db } = world;
  return {
    custody: await db.custody.findMany({ where: { supersededAt: null } }),
    shares: await db.ownershipShare.findMany({
      where: { ownership: { supersededAt: null } },
      include: { ownership: true },
    }),
    items: await db.transferItem.findMany({ include: { transfer: true } }),
    grants: await db.readingGrant.findMany({ include: { access: true } }),
    members: await db.clubMember.findMany({ where: { leftOn: null } }),
    settings: await db.sharingSetting.findMany({ where: { endedAt: null }, include: { access: true } }),
    stays: await db.collectionStay.findMany({ where: { endedAt: null }, include: { access: true } }),
    threads: await db.askThread.findMany({ where: { closedAt: null, revealedAt: { not: null } } }),
    quarantined: await db.quarantineEntry.findMany({ where: { leftOn: null } }),
    notes: await db.animalFact.findMany({ where: { kind: 'note', supersededAt: null } }),
    animals: await db.animal.findMany(),
  };
}
type Rows = Awaited<ReturnType<typeof readRows>>;

/** Who has the animal now; after a death who had it last keeps it. */
function holderOf(rows: Rows, animalId: string): string | null {
  const stays = rows.custody.filter((row) => row.animalId === animalId);
  const now = stays.find((row) => row.validTo === null) ?? stays.find((row) => row.leftBy === 'died');
  return now?.keeperId ?? null;
}

/** What a keeper shows of an animal: its own settings in force, of which those of the animal hang on its relation of now. */
function sharingOf(rows: Rows, keeperId: string, animalId: string) {
  const own = rows.settings.filter((row) => row.keeperId === keeperId);
  const everything = own.find((row) => row.collectionId === null && row.accessId === null);
  if (everything === undefined || everything.holdings === null) throw new Error('A keeper has no setting');
  const isNow = (access: { animalId: string; keeperId: string; validTo: Date | null } | null): boolean =>
    access?.animalId === animalId && access.keeperId === keeperId && access.validTo === null;
  const stay = rows.stays.find((row) => isNow(row.access));
  const ofAnimal = own.filter((row) => isNow(row.access));
  return resolveSharing(
    { holdings: everything.holdings, lineageWithheld: everything.lineageWithheld },
    own.find((row) => row.collectionId !== null && row.collectionId === stay?.collectionId) ?? null,
    {
      holdings: ofAnimal.find((row) => row.access?.relation === 'holder')?.holdings ?? null,
      lineageWithheld: ofAnimal.some((row) => row.lineageWithheld),
    },
  );
}

const OPEN_STATES = ['offered', 'accepted', 'sent'];

/** Everything expected of one account and one animal, from the rows and the policy. */
function expectation(rows: Rows, actor: Actor, animalId: string) {
  const mine = (id: string | null): boolean => id !== null && actor.keepers.includes(id);
  const holder = holderOf(rows, animalId);
  const owners = rows.shares.filter((row) => row.ownership.animalId === animalId);
  const past = (row: { validTo: Date | null }): Date | null => (row.validTo === null ? null : YESTERDAY);
  const own: AccessFact[] = [
    ...rows.custody
      .filter((row) => row.animalId === animalId && mine(row.keeperId))
      .map((row): AccessFact => {
        const closed = row.keeperId !== holder;
        return { relation: 'holder', closed, readsUntil: closed ? YESTERDAY : null };
      }),
    ...owners
      .filter((row) => mine(row.keeperId))
      .map((row): AccessFact => ({
        relation: 'owner',
        closed: row.ownership.validTo !== null,
        readsUntil: past(row.ownership),
      })),
    ...rows.items
      .filter((row) => row.animalId === animalId && mine(row.transfer.toKeeperId))
      .map((row): AccessFact => ({
        relation: 'receiver',
        closed: !OPEN_STATES.includes(row.transfer.state),
        readsUntil: null,
      })),
    ...rows.grants
      .filter((row) => row.access.animalId === animalId && mine(row.access.keeperId))
      .map((row): AccessFact => ({ relation: 'guest', closed: row.endedAt !== null, readsUntil: null })),
  ];
  const clubsOf = (keeperIds: readonly string[]): Set<string> =>
    new Set(rows.members.filter((row) => keeperIds.includes(row.keeperId)).map((row) => row.clubId));
  const together = (keeperId: string): boolean => {
    const theirs = clubsOf([keeperId]);
    return [...clubsOf(actor.keepers)].some((club) => theirs.has(club));
  };
  const around = [holder, ...owners.filter((row) => row.ownership.validTo === null).map((row) => row.keeperId)];
  const { level } = accessLevel({
    own,
    sharedInClub: around.some(
      (keeperId) => keeperId !== null && together(keeperId) && sharingOf(rows, keeperId, animalId).lineageShared,
    ),
  });
  if (level === 'none') return { level, shown: null };
  const fields = fieldsShown(level);
  const alive = rows.custody.some((row) => row.animalId === animalId && row.validTo === null);
  const otherParty =
    own.some((fact) => fact.relation === 'receiver' && !fact.closed) ||
    rows.threads.some((row) => row.animalId === animalId && mine(row.askerKeeperId) && row.holderKeeperId === holder);
  const told =
    holder !== null &&
    showsHolder(sharingOf(rows, holder, animalId).holdings, { clubMates: together(holder), otherParty });
  const notes = rows.notes
    .filter((row) => row.animalId === animalId)
    .map((row) => ({ topic: (row.body as { topic: string }).topic, keeperId: row.keeperId }))
    // What was recorded after the animal left is not read by who had it: here the new keeper's own note.
    .filter((note) => note.topic !== 'private' || mine(note.keeperId));
  return {
    level,
    shown: {
      registerNumber: true,
      name: fields.record,
      count: fields.record,
      holder: alive && (fields.holder || (fields.holderIfShown && told)),
      quarantine: fields.health && alive && rows.quarantined.some((row) => row.animalId === animalId),
      notes: fields.record ? notes.map(({ topic }) => topic).toSorted() : null,
      documents: fields.papers,
      sharing: level === 'full',
    },
  };
}

type AnimalAnswer = {
  viewerLevel: AccessLevel;
  registerNumber: string;
  name: string | null;
  count: number | null;
  holder: object | null;
  quarantine: object | null;
  notes: { edges: { node: { topic: string } }[] } | null;
  documents: object | null;
  sharing: object | null;
};

async function shownTo(actor: Actor, animalId: string) {
  const answer = await test.ask<{ animal: AnimalAnswer }>(
    `query ($id: ID!) { animal(id: $id) { viewerLevel registerNumber name count holder { label } quarantine { until }
       notes { edges { node { topic } } } documents { edges { cursor } } sharing { lineageShared } } }`,
    { id: animalId },
    actor.token,
  );
  if (answer.data === null) {
    expect(answer.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    return { level: 'none', shown: null };
  }
  const { animal } = answer.data;
  return {
    level: animal.viewerLevel,
    shown: {
      registerNumber: animal.registerNumber !== '',
      name: animal.name !== null,
      count: animal.count !== null,
      holder: animal.holder !== null,
      quarantine: animal.quarantine !== null,
      notes: animal.notes?.edges.map(({ node }) => node.topic).toSorted() ?? null,
      documents: animal.documents !== null,
      sharing: animal.sharing !== null,
    },
  };
}

it('shows every account of every animal what the policy gives, field by field', async () => {
  const rows = await readRows();
  const levels = new Map<string, number>();
  let holders = 0;
  for (const actor of actors)
    for (const { id } of animals) {
      const expected = expectation(rows, actor, id);
      levels.set(expected.level, (levels.get(expected.level) ?? 0) + 1);
      if (expected.level !== 'full' && expected.shown?.holder === true) holders += 1;
      expect([actor.name, id, await shownTo(actor, id)]).toEqual([actor.name, id, expected]);
    }
  // The world has something of everything, or the agreement says little.
  for (const level of ['full', 'offered', 'guest', 'past', 'club', 'none'])
    expect([level, (levels.get(level) ?? 0) > 2]).toEqual([level, true]);
  expect(holders).toBeGreaterThan(5);
}, 300_000);

it('shows a price to the two sides of its transfer, and a transfer to nobody else', async () => {
  const rows = await readRows();
  const transfers = [...new Map(rows.items.map(({ transfer }) => [transfer.id, transfer])).values()];
  const priced = transfers.filter((transfer) => transfer.priceMinor !== null);
  expect(priced.length).toBeGreaterThan(2);
  for (const actor of actors)
    for (const transfer of priced) {
      const answer = await test.ask<{ transfer: { price: object | null } }>(
        'query ($id: ID!) { transfer(id: $id) { price { minor } } }',
        { id: transfer.id },
        actor.token,
      );
      const isOwner = actor.name !== 'helper of 0';
      const side = [transfer.fromKeeperId, transfer.toKeeperId].some((id) => id !== null && actor.keepers.includes(id));
      expect([actor.name, answer.data === null ? 'hidden' : answer.data.transfer.price !== null]).toEqual([
        actor.name,
        side ? isOwner : 'hidden',
      ]);
    }
}, 120_000);

it('shows nothing to who is not signed in', async () => {
  const unknown = await test.ask('query ($id: ID!) { animal(id: $id) { id } }', { id: uuid() });
  for (const { id } of animals) {
    const answer = await test.ask('query ($id: ID!) { animal(id: $id) { id } }', { id });
    const code = answer.errors?.[0]?.extensions.code;
    expect([code, answer.errors?.[0]?.message]).toEqual(['UNAUTHENTICATED', unknown.errors?.[0]?.message]);
  }
});
