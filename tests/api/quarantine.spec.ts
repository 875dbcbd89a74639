import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';

const FIELDS = `id name days daysSource restartScope transferId state until since releaseReason
  entries { animalId enteredOn leftOn state until since }`;

type Entry = { animalId: string; enteredOn: string; leftOn: string | null; state: string; until: string | null };
type Group = {
  id: string;
  name: string;
  days: number;
  daysSource: string;
  restartScope: string;
  transferId: string | null;
  state: string;
  until: string | null;
  since: string | null;
  releaseReason: string | null;
  entries: Entry[];
};
type Payload = { quarantine: Group; caution: string };

let test: TestApp;
let world: RegistryWorld;
let keeper: TestKeeper;
let stranger: TestKeeper;
/** 60 days. */
let tortoise: string;
/** 90 days, another order. */
let python: string;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  tortoise = await world.taxon();
  python = uuid();
  await world.db.taxon.create({
    data: {
      id: python,
      scientificName: 'Morelia viridis',
      commonName: 'Green tree python',
      className: 'Reptilia',
      orderName: 'Squamata',
      nameSource: 'test',
      quarantineDays: 90,
      quarantineSource: 'practice of snake keepers',
    },
  });
  test.setDay('2026-06-10');
  keeper = await world.keeper('Anke');
  stranger = await world.keeper('Bodo');
});
beforeEach(() => test.setDay('2026-06-10'));
afterAll(async () => {
  await world.close();
  await test.close();
});

function send(name: string, input: object, who = keeper): Promise<Answer<Record<string, Payload>>> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const document = `mutation ($input: ${type}!) { ${name}(input: $input) { quarantine { ${FIELDS} } caution } }`;
  return test.ask(document, { input }, who.token);
}

async function done(name: string, input: object): Promise<Payload> {
  const answer = await send(name, input);
  const payload = answer.data?.[name];
  if (payload === undefined) throw new Error(`${name}: ${JSON.stringify(answer.errors)}`);
  return payload;
}

async function refused(
  name: string,
  input: object,
  who = keeper,
): Promise<{ code: string; rule?: string; text: string }> {
  const [error] = (await send(name, input, who)).errors ?? [];
  if (error === undefined) throw new Error(`${name} was not refused.`);
  const { code, rule } = error.extensions;
  return { code, ...(rule === undefined ? {} : { rule }), text: error.message };
}

const animal = (taxonId = tortoise, who = keeper) => world.animal(who, taxonId, { since: '2026-05-01' });
const openGroup = async (...animalIds: string[]): Promise<Group> =>
  (await done('openQuarantine', { keeperId: keeper.keeperId, animalIds, enteredOn: '2026-06-01' })).quarantine;

async function quarantineOf(animalId: string, who = keeper): Promise<unknown> {
  const document = 'query ($id: ID!) { animal(id: $id) { quarantine { until group { id name } } } }';
  return (await test.get<{ animal: { quarantine: unknown } }>(document, { id: animalId }, who.token)).animal.quarantine;
}

describe('a quarantine group', () => {
  it('takes the longest rule of its species with its source, and says who decides', async () => {
    const ids = [await animal(), await animal(python)];
    const input = { keeperId: keeper.keeperId, animalIds: ids, enteredOn: '2026-06-01' };
    const { quarantine, caution } = await done('openQuarantine', input);
    expect(quarantine).toMatchObject({
      name: 'Quarantine of 2026-06-01',
      days: 90,
      daysSource: 'Morelia viridis: practice of snake keepers',
      restartScope: 'order',
      state: 'in_quarantine',
      until: '2026-08-30',
      since: null,
      releaseReason: null,
    });
    expect(caution).toContain('veterinarian');
    expect(await quarantineOf(ids[0] ?? '')).toEqual({
      until: '2026-08-30',
      group: { id: quarantine.id, name: quarantine.name },
    });
    test.setDay('2026-08-30');
    expect(await quarantineOf(ids[0] ?? '')).toBeNull();
  });

  it('takes the days, the scope and the name of its keeper', async () => {
    const input = { keeperId: keeper.keeperId, animalIds: [await animal()], enteredOn: '2026-06-01' };
    const own = { ...input, days: 180, restartScope: 'any', name: ' Back room ' };
    expect((await done('openQuarantine', own)).quarantine).toMatchObject({
      name: 'Back room',
      days: 180,
      restartScope: 'any',
      until: '2026-11-28',
      daysSource: expect.stringContaining('set by the keeper; 60 days after Testudo'),
    });
  });

  it('starts anew when an animal of the order joins; one of another order has its own clock', async () => {
    const [first, second, other] = [await animal(), await animal(), await animal(python)];
    const { id } = await openGroup(first);
    await done('joinQuarantine', { groupId: id, animalIds: [other], enteredOn: '2026-06-05' });
    const { quarantine } = await done('joinQuarantine', { groupId: id, animalIds: [second], enteredOn: '2026-06-10' });
    expect(quarantine.entries.map(({ animalId, until }) => [animalId, until])).toEqual([
      [first, '2026-08-09'],
      [other, '2026-08-04'],
      [second, '2026-08-09'],
    ]);
    expect(quarantine.until).toBe('2026-08-09');
  });

  it('is released early only with a reason, which the keeper reads again', async () => {
    const id = await animal();
    const group = await openGroup(id);
    const release = { groupId: group.id, on: '2026-06-10' };
    expect(await refused('releaseQuarantine', release)).toMatchObject({ rule: 'RELEASE_REASON_NEEDED' });
    const reason = 'two negatives, says the veterinarian';
    const { quarantine, caution } = await done('releaseQuarantine', { ...release, reason });
    expect(quarantine).toMatchObject({ state: 'released_early', since: '2026-06-10', releaseReason: reason });
    expect(caution).toContain('veterinarian');
    expect(await quarantineOf(id)).toBeNull();
    const entry = await world.db.ledgerEntry.findFirst({
      where: { action: 'health.quarantine-released', subjects: { has: group.id } },
    });
    expect(entry?.body).not.toContain('negatives');
    expect(await refused('releaseQuarantine', release)).toMatchObject({ rule: 'QUARANTINE_OVER' });
  });

  it('is released without a reason from the day it ended; the animals may enter another', async () => {
    const [freed, waiting] = [await animal(), await animal()];
    const group = await openGroup(freed);
    const other = await openGroup(waiting);
    test.setDay('2026-08-01');
    const { quarantine } = await done('releaseQuarantine', { groupId: group.id, on: '2026-07-31' });
    expect(quarantine).toMatchObject({ state: 'ended', since: '2026-07-31', releaseReason: null });
    const input = { keeperId: keeper.keeperId, animalIds: [freed, waiting], enteredOn: '2026-08-01' };
    await done('openQuarantine', input);
    const stays = await world.db.quarantineEntry.findMany({
      where: { animalId: waiting },
      orderBy: { enteredOn: 'asc' },
    });
    expect(stays.map(({ groupId, leftOn }) => [groupId === other.id, leftOn?.toISOString().slice(0, 10)])).toEqual([
      [true, '2026-07-31'],
      [false, undefined],
    ]);
  });

  it('writes one ledger entry for each step, and none for what is refused', async () => {
    const id = await animal();
    const group = await openGroup(id);
    await done('joinQuarantine', { groupId: group.id, animalIds: [await animal()], enteredOn: '2026-06-02' });
    await refused('joinQuarantine', { groupId: group.id, animalIds: [id], enteredOn: '2026-06-02' });
    await done('releaseQuarantine', { groupId: group.id, on: '2026-06-09', reason: 'moved' });
    const entries = await world.db.ledgerEntry.findMany({
      where: { subjects: { has: group.id } },
      orderBy: { id: 'asc' },
    });
    expect(entries.map(({ action }) => action)).toEqual([
      'health.quarantine-opened',
      'health.quarantine-joined',
      'health.quarantine-released',
    ]);
  });
});

describe('bad input', () => {
  const counts = () =>
    Promise.all([world.db.quarantineGroup.count(), world.db.quarantineEntry.count(), world.db.ledgerEntry.count()]);

  it('is refused with a clear code and nothing written', async () => {
    const [own, dead, theirs] = [await animal(), await animal(), await animal(tortoise, stranger)];
    const death = 'mutation ($input: RecordDeathInput!) { recordDeath(input: $input) { animal { id } } }';
    await test.get(death, { input: { animalId: dead, on: '2026-06-02' } }, keeper.token);
    const group = await openGroup(await animal());
    const open = (more: object) =>
      refused('openQuarantine', { keeperId: keeper.keeperId, animalIds: [own], enteredOn: '2026-06-01', ...more });
    const join = (more: object) =>
      refused('joinQuarantine', { groupId: group.id, animalIds: [own], enteredOn: '2026-06-05', ...more });
    const release = (more: object) =>
      refused('releaseQuarantine', { groupId: group.id, on: '2026-06-05', reason: 'a reason', ...more });
    const before = await counts();
    expect(await open({ animalIds: [uuid()] })).toMatchObject({ code: 'NOT_FOUND' });
    expect(await open({ animalIds: [own, theirs] })).toEqual(await open({ animalIds: [uuid()] }));
    expect(await open({ animalIds: [dead] })).toMatchObject({ code: 'NOT_FOUND' });
    expect(await open({ animalIds: [] })).toMatchObject({ code: 'INVALID_INPUT' });
    expect(await open({ animalIds: [own, own] })).toMatchObject({ code: 'INVALID_INPUT' });
    expect(await open({ animalIds: ['own'] })).toMatchObject({ code: 'INVALID_INPUT' });
    expect(await open({ days: 0 })).toMatchObject({ code: 'INVALID_INPUT' });
    expect(await open({ days: 5_000 })).toMatchObject({ code: 'INVALID_INPUT' });
    expect(await open({ enteredOn: '2026-06-11' })).toMatchObject({ code: 'RULE_REFUSED', rule: 'DAY_IN_FUTURE' });
    expect(await open({ enteredOn: '2026-04-30' })).toMatchObject({ rule: 'CUSTODY_DAY_TOO_EARLY' });
    expect(await join({ enteredOn: '2026-06-11' })).toMatchObject({ rule: 'DAY_IN_FUTURE' });
    expect(await join({ animalIds: [group.entries[0]?.animalId] })).toMatchObject({ rule: 'ALREADY_IN_QUARANTINE' });
    expect(await join({ groupId: uuid() })).toMatchObject({ code: 'NOT_FOUND' });
    expect(await release({ on: '2026-06-11' })).toMatchObject({ rule: 'DAY_IN_FUTURE' });
    expect(await release({ on: '2026-05-31' })).toMatchObject({ rule: 'RELEASE_BEFORE_ENTRY' });
    expect(await release({ reason: ' ' })).toMatchObject({ code: 'INVALID_INPUT' });
    expect(await counts()).toEqual(before);
  });
});

describe('the list of quarantines', () => {
  const LIST = `query ($keeperId: ID!, $first: Int, $after: String) { quarantines(keeperId: $keeperId, first: $first, after: $after) {
    edges { node { ${FIELDS} } } pageInfo { hasNextPage endCursor } } }`;
  type Page = {
    quarantines: { edges: { node: Group }[]; pageInfo: { hasNextPage: boolean; endCursor: string | null } };
  };

  it('goes on after the last one, newest first, without gap or repetition', async () => {
    const holder = await world.keeper('Cem');
    const opened = [];
    for (let each = 0; each < 3; each += 1) {
      const input = { keeperId: holder.keeperId, animalIds: [await animal(tortoise, holder)], enteredOn: '2026-06-01' };
      opened.push((await send('openQuarantine', input, holder)).data?.['openQuarantine']?.quarantine.id);
    }
    const seen = [];
    let after = null;
    do {
      const page: Page = await test.get(LIST, { keeperId: holder.keeperId, first: 2, after }, holder.token);
      seen.push(...page.quarantines.edges.map(({ node }) => node.id));
      after = page.quarantines.pageInfo.hasNextPage ? page.quarantines.pageInfo.endCursor : null;
    } while (after !== null);
    // Opened at one moment of a stopped clock: then the ids decide, whose order within a moment is random.
    expect(seen).toEqual(opened.toSorted().toReversed());
  });

  it('refuses a cursor of another list', async () => {
    const answer = await test.ask(LIST, { keeperId: keeper.keeperId, after: 'WyJhIl0' }, keeper.token);
    expect(answer.errors?.[0]?.extensions.code).toBe('INVALID_INPUT');
  });
});

describe('the arrival of a transfer', () => {
  it('opens one group for what came alive, in the same transaction, and ends the stay with the giver', async () => {
    const receiver = await world.keeper('Dana');
    const [well, ill, dead] = [await animal(), await animal(python), await animal()];
    await openGroup(well);
    const step = async (name: string, input: object, who: TestKeeper) => {
      const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
      const document = `mutation ($input: ${type}!) { ${name}(input: $input) { transfer { id } } }`;
      const answer = await test.get<Record<string, { transfer: { id: string } }>>(document, { input }, who.token);
      return answer[name]?.transfer.id ?? '';
    };
    const clubId = await world.club(keeper, receiver);
    await world.db.clubPolicy.create({ data: { clubId, check: 'quarantine', effect: 'warn' } });
    const items = [well, ill, dead].map((animalId) => ({ animalId }));
    const offer = { fromKeeperId: keeper.keeperId, kind: 'gift', toKeeperId: receiver.keeperId, items };
    const transferId = await step('offerTransfer', offer, keeper);
    await step('acceptTransfer', { transferId }, receiver);
    const reason = 'Goes to the one with the heated room';
    await step('sendTransfer', { transferId, sentOn: '2026-06-08', reason }, keeper);
    const arrivals = (animalId: string, state: string) => ({ animalId, arrivals: [{ state, count: 1 }] });
    const received = [arrivals(well, 'well'), arrivals(ill, 'ill'), arrivals(dead, 'dead')];
    await step('receiveTransfer', { transferId, receivedOn: '2026-06-09', items: received }, receiver);

    const list = `query ($keeperId: ID!) { quarantines(keeperId: $keeperId) { edges { node { ${FIELDS} } } } }`;
    type Page = { quarantines: { edges: { node: Group }[] } };
    const page: Page = await test.get(list, { keeperId: receiver.keeperId }, receiver.token);
    expect(page.quarantines.edges.map(({ node }) => node)).toMatchObject([
      { transferId, name: 'Arrival of 2026-06-09', days: 90, state: 'in_quarantine', until: '2026-09-07' },
    ]);
    const entries = page.quarantines.edges[0]?.node.entries ?? [];
    expect(entries.map(({ animalId }) => animalId).sort()).toEqual([well, ill].sort());
    const stays = await world.db.quarantineEntry.findMany({ where: { animalId: well }, orderBy: { enteredOn: 'asc' } });
    expect(stays.map(({ leftOn }) => leftOn?.toISOString().slice(0, 10))).toEqual(['2026-06-09', undefined]);
    expect(await quarantineOf(well, receiver)).toMatchObject({ until: '2026-09-07' });
    expect(await quarantineOf(well)).toBeNull();
  });
});
