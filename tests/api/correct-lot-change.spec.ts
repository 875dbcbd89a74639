import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { Clock } from '../../libs/platform/clock.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let taxon: string;
let owner: TestKeeper;
let lotId: string;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  taxon = await world.taxon();
});
beforeEach(async () => {
  test.app.get(Clock, { strict: false }).now = () => new Date(NOON + ++ticks);
  owner = await world.keeper('An owner');
  lotId = await world.lot(owner, taxon, 20, { since: '2026-06-01' });
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

/** Noon of the day, a millisecond later each time it is asked: what is recorded one after the other has an order. */
const NOON = Date.parse('2026-06-20T12:00:00Z');
let ticks = 0;

const type = (name: string) => `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;

async function mutate<T = unknown>(name: string, input: object, fields = '__typename', who = owner): Promise<T> {
  const answer = await test.get<Record<string, T>>(
    `mutation ($input: ${type(name)}!) { ${name}(input: $input) { ${fields} } }`,
    { input },
    who.token,
  );
  return answer[name] as T;
}

async function refusal(name: string, input: object, who = owner) {
  const { errors } = await test.ask(
    `mutation ($input: ${type(name)}!) { ${name}(input: $input) { __typename } }`,
    { input },
    who.token,
  );
  return errors?.[0]?.extensions ?? null;
}

type Change = {
  id: string;
  cause: string;
  delta: number;
  on: string;
  supersededAt: string | null;
  supersededBy: string | null;
  supersededBecause: string | null;
};
async function changes(of = lotId, who = owner): Promise<Change[] | null> {
  const { animal } = await test.get<{ animal: { countChanges: { edges: { node: Change }[] } | null } }>(
    `query ($id: ID) { animal(id: $id) { countChanges(first: 50) { edges { node {
       id cause delta on supersededAt supersededBy supersededBecause } } } } }`,
    { id: of },
    who.token,
  );
  return animal.countChanges?.edges.map(({ node }) => node) ?? null;
}

/** Records a loss or a find and gives its id. */
async function change(count: number, cause: string, on: string): Promise<string> {
  if (cause === 'found') await mutate('findInLot', { lotId, count, on });
  else await mutate('loseFromLot', { lotId, count, cause, on });
  return (await changes())?.find(({ supersededAt }) => supersededAt === null)?.id ?? '';
}

const correct = (changeId: string, input: object) =>
  mutate<{ lot: { count: number; fate: string } }>(
    'correctLotChange',
    { changeId, reason: 'a slip', ...input },
    'lot { count fate }',
  );
const refused = (changeId: string, input: object, who = owner) =>
  refusal('correctLotChange', { changeId, reason: 'a slip', ...input }, who);

async function book(asOf = '2026-06-30', who = owner) {
  const { stockBook } = await test.get<{
    stockBook: Record<'departures', { edges: { node: { day: string; cause: string; count: number } }[] }> & {
      closing: number;
      unaccounted: number;
    };
  }>(
    `query ($k: ID!, $asOf: Day!) { stockBook(keeperId: $k, from: "2026-05-01", asOf: $asOf) { closing unaccounted
       departures { edges { node { day cause count } } } } }`,
    { k: who.keeperId, asOf },
    who.token,
  );
  const { closing, unaccounted, departures } = stockBook;
  const lines = departures.edges.map(({ node }) => `${node.day} ${node.count} ${node.cause}`);
  return { closing, unaccounted, departures: lines };
}

describe('what a lot lost', () => {
  it('is put right in number, day and cause, one after the other; both versions are shown', async () => {
    const first = await change(12, 'died', '2026-06-10');
    expect(await correct(first, { count: 2 })).toEqual({ lot: { count: 18, fate: 'alive' } });
    expect(await book()).toEqual({ closing: 18, unaccounted: 0, departures: ['2026-06-10 2 died'] });
    const second = (await changes())?.find(({ cause, supersededAt }) => cause === 'died' && supersededAt === null);
    await correct(second?.id ?? '', { on: '2026-06-05', cause: 'escaped' });
    expect(await book()).toEqual({ closing: 18, unaccounted: 0, departures: ['2026-06-05 2 escaped'] });
    // The days between are counted as if it had been said so from the start.
    expect(await book('2026-06-07')).toMatchObject({ closing: 18 });
    const shown = await changes();
    expect(shown?.map(({ cause, delta, on, supersededBecause }) => [cause, delta, on, supersededBecause])).toEqual([
      ['escaped', -2, '2026-06-05', null],
      ['died', -2, '2026-06-10', 'a slip'],
      ['died', -12, '2026-06-10', 'a slip'],
      ['opening', 20, '2026-06-01', null],
    ]);
    expect(shown?.[2]?.supersededBy).toBe(second?.id);
    expect(await refused(first, { count: 3 })).toMatchObject({
      rule: 'LOT_CHANGE_NOT_IN_FORCE',
      blockers: [{ kind: 'lot_change', id: shown?.[0]?.id }],
    });
    // What escaped can be found again, and so many only.
    await mutate('findInLot', { lotId, count: 2 });
    expect(await refused(shown?.[0]?.id ?? '', { cause: 'died' })).toMatchObject({
      rule: 'LOT_CHANGE_COUNTED_ON',
      blockers: [{ kind: 'lot_change' }],
    });
  });

  it('is taken back, and so is a find', async () => {
    const lost = await change(5, 'missing', '2026-06-10');
    const found = await change(3, 'found', '2026-06-12');
    expect(await refused(lost, { takeBack: true })).toMatchObject({
      rule: 'LOT_CHANGE_COUNTED_ON',
      blockers: [{ kind: 'lot_change', id: found }],
    });
    expect(await refused(found, { cause: 'died' })).toMatchObject({ rule: 'LOT_CHANGE_NOT_CORRECTABLE' });
    expect(await refused(found, { count: 6 })).toMatchObject({ rule: 'LOT_FOUND_TOO_MANY' });
    expect(await correct(found, { takeBack: true })).toEqual({ lot: { count: 15, fate: 'alive' } });
    expect(await correct(lost, { takeBack: true })).toEqual({ lot: { count: 20, fate: 'alive' } });
    expect(await book()).toEqual({ closing: 20, unaccounted: 0, departures: [] });
    expect(await refused(lost, { takeBack: true })).toMatchObject({ rule: 'LOT_CHANGE_NOT_IN_FORCE', blockers: [] });
  });

  it('brings a lot that had died out back, and lets one die out', async () => {
    const some = await change(4, 'died', '2026-06-05');
    const rest = await change(16, 'died', '2026-06-10');
    expect(await book()).toMatchObject({ closing: 0, unaccounted: 0 });
    expect(await refused(some, { count: 3 })).toMatchObject({
      rule: 'LOT_CHANGE_COUNTED_ON',
      blockers: [{ kind: 'lot_change', id: rest }],
    });
    expect(await refused(rest, { cause: 'missing' })).toMatchObject({ rule: 'LOT_LOSS_TAKES_ALL' });
    await correct(rest, { on: '2026-06-12' });
    expect(await book()).toMatchObject({ departures: ['2026-06-05 4 died', '2026-06-12 16 died'], unaccounted: 0 });
    expect(await world.db.custody.findFirst({ where: { animalId: lotId, supersededAt: null } })).toMatchObject({
      leftBy: 'died',
      validTo: new Date('2026-06-12'),
    });
    expect(await world.db.animal.findUnique({ where: { id: lotId } })).toMatchObject({ fateEdtf: '2026-06-12' });
    const moved = (await changes())?.find(({ on }) => on === '2026-06-12')?.id ?? '';
    expect(await correct(moved, { count: 10 })).toEqual({ lot: { count: 6, fate: 'alive' } });
    expect(await book()).toEqual({
      closing: 6,
      unaccounted: 0,
      departures: ['2026-06-05 4 died', '2026-06-12 10 died'],
    });
    const again =
      (await changes())?.find(({ delta, supersededAt }) => delta === -10 && supersededAt === null)?.id ?? '';
    expect(await correct(again, { count: 16 })).toEqual({ lot: { count: 0, fate: 'dead' } });
    expect(await book()).toMatchObject({ closing: 0, unaccounted: 0 });
    // A cause alone moves neither day nor stay.
    const stays = await world.db.custody.count({ where: { animalId: lotId } });
    await correct(some, { cause: 'escaped' });
    expect(await world.db.custody.count({ where: { animalId: lotId } })).toBe(stays);
  });

  it('before a recount moves what is unexplained, and not the count', async () => {
    const lost = await change(5, 'died', '2026-06-10');
    await mutate('recountLot', { lotId, count: 14, reason: 'Counted.', on: '2026-06-12' });
    expect(await book()).toMatchObject({ closing: 14, unaccounted: -1 });
    expect(await correct(lost, { count: 6 })).toEqual({ lot: { count: 14, fate: 'alive' } });
    expect(await book()).toEqual({ closing: 14, unaccounted: 0, departures: ['2026-06-10 6 died'] });
    const entry = await world.db.ledgerEntry.findFirstOrThrow({
      where: { action: 'lot.change-corrected', subjects: { has: lotId } },
    });
    expect(JSON.parse(entry.body)).toMatchObject({
      from: { cause: 'died', count: 5 },
      to: { cause: 'died', count: 6 },
      left: 14,
      unaccounted: 1,
    });
    expect(entry.body).not.toContain('a slip');
    // The count was right then, and stays, however often what came before is put right.
    const again = (await changes())?.find(({ cause, supersededAt }) => cause === 'died' && supersededAt === null);
    expect(await correct(again?.id ?? '', { count: 7 })).toEqual({ lot: { count: 14, fate: 'alive' } });
    expect(await book()).toMatchObject({ closing: 14, unaccounted: 1 });
    const recount = (await changes())?.find(
      ({ cause, supersededAt }) => cause === 'corrected' && supersededAt === null,
    );
    expect(await refused(recount?.id ?? '', { takeBack: true })).toMatchObject({ rule: 'LOT_CHANGE_NOT_CORRECTABLE' });
  });
});

describe('what rests on the count', () => {
  it('a split and a raising that would not have been possible stand in the way, others do not', async () => {
    const lost = await change(4, 'died', '2026-06-10');
    const { newLot } = await mutate<{ newLot: { id: string } }>('splitLot', { lotId, count: 8 }, 'newLot { id }');
    const raised = await mutate<{ animals: { id: string }[] }>(
      'raiseFromLot',
      { lotId, animals: [{}, {}] },
      'animals { id }',
    );
    expect(await refused(lost, { count: 12 })).toMatchObject({
      rule: 'LOT_CHANGE_COUNTED_ON',
      blockers: [
        { kind: 'animal', id: newLot.id },
        { kind: 'animal', id: raised.animals[0]?.id },
        { kind: 'animal', id: raised.animals[1]?.id },
      ],
    });
    expect(await correct(lost, { count: 9 })).toEqual({ lot: { count: 1, fate: 'alive' } });
    expect(await book()).toMatchObject({ unaccounted: 0 });
  });

  it('a join takes all there were, and is not undone', async () => {
    const lost = await change(4, 'died', '2026-06-10');
    const into = await world.lot(owner, taxon, 3, { since: '2026-06-01' });
    await mutate('joinLots', { fromLotId: lotId, intoLotId: into });
    expect(await refused(lost, { takeBack: true })).toMatchObject({
      rule: 'LOT_CHANGE_COUNTED_ON',
      blockers: [{ kind: 'animal', id: into }],
    });
    await correct(lost, { cause: 'missing', on: '2026-06-12' });
    expect(await book()).toMatchObject({ closing: 19, unaccounted: 0 });
    const opening = (await changes())?.find(({ cause }) => cause === 'opening')?.id ?? '';
    expect(await refused(opening, { takeBack: true })).toMatchObject({ rule: 'LOT_CHANGE_NOT_CORRECTABLE' });
  });

  it('an open offer keeps its number; the receiver of the lot corrects nothing of the giver’s time', async () => {
    const lost = await change(4, 'died', '2026-06-10');
    const receiver = await world.keeper('A receiver');
    const { transfer } = await mutate<{ transfer: { id: string } }>(
      'offerTransfer',
      {
        kind: 'gift',
        fromKeeperId: owner.keeperId,
        toKeeperId: receiver.keeperId,
        items: [{ animalId: lotId }],
      },
      'transfer { id }',
    );
    expect(await refused(lost, { count: 3 })).toMatchObject({
      rule: 'LOT_CHANGE_OFFERED',
      blockers: [{ kind: 'transfer', id: transfer.id }],
    });
    await correct(lost, { on: '2026-06-11' });
    const moved = (await changes())?.find(({ on }) => on === '2026-06-11')?.id ?? '';
    expect(await changes(lotId, receiver)).toBeNull();
    expect(await refused(moved, { on: '2026-06-12' }, receiver)).toMatchObject({ code: 'FORBIDDEN' });
    const transferId = transfer.id;
    await mutate('acceptTransfer', { transferId }, '__typename', receiver);
    await mutate('sendTransfer', { transferId, sentOn: '2026-06-20', reason: 'Agreed.' });
    const arrivals = [
      { state: 'well', count: 13 },
      { state: 'dead', count: 3 },
    ];
    const items = [{ animalId: lotId, arrivals }];
    await mutate('receiveTransfer', { transferId, receivedOn: '2026-06-20', items }, '__typename', receiver);
    const arrived = await changes(lotId, receiver);
    expect(await refused(arrived?.[0]?.id ?? '', { count: 2 }, receiver)).toMatchObject({
      rule: 'LOT_CHANGE_OF_RECEIPT',
    });
    expect(await refused(moved, { count: 2 }, receiver)).toMatchObject({ rule: 'LOT_CHANGE_BEFORE_STAY' });
    expect(await refused(moved, { count: 2 })).toMatchObject({ code: 'FORBIDDEN' });
    expect(await changes()).toBeNull();
    // On the very day it came, what dies with the receiver is the receiver's.
    await mutate('loseFromLot', { lotId, count: 1, cause: 'died' }, '__typename', receiver);
    const own = (await changes(lotId, receiver))?.[0]?.id ?? '';
    // What was recorded after it left the giver knows nothing of.
    const unknown = await refused(lotId, { count: 2 });
    expect(await refused(own, { count: 2 })).toEqual({
      ...unknown,
      requestId: expect.any(String),
    });
    expect(unknown).toMatchObject({ code: 'NOT_FOUND' });
    await mutate('correctLotChange', { changeId: own, reason: 'x', count: 2 }, '__typename', receiver);
    expect(await book('2026-06-30', owner)).toMatchObject({
      closing: 0,
      unaccounted: 0,
      departures: ['2026-06-11 4 died', '2026-06-20 16 given'],
    });
    expect(await book('2026-06-30', receiver)).toMatchObject({
      closing: 11,
      unaccounted: 0,
      departures: ['2026-06-20 3 died', '2026-06-20 2 died'],
    });
  });
});

it('is refused for days that cannot be, and is nobody else’s', async () => {
  const lost = await change(4, 'died', '2026-06-10');
  expect(await refused(lost, {})).toMatchObject({ code: 'INVALID_INPUT', fields: [{ path: 'input.takeBack' }] });
  expect(await refused(lost, { takeBack: true, count: 1 })).toMatchObject({ code: 'INVALID_INPUT' });
  expect(await refused(lost, { count: 4, on: '2026-06-10' })).toMatchObject({ rule: 'LOT_CHANGE_SAME' });
  expect(await refused(lost, { count: 21 })).toMatchObject({ rule: 'LOT_TOO_SMALL' });
  expect(await refused(lost, { on: '2026-06-21' })).toMatchObject({ rule: 'DAY_IN_FUTURE' });
  expect(await refused(lost, { on: '2026-05-31' })).toMatchObject({ rule: 'CUSTODY_DAY_TOO_EARLY' });
  const stranger = await world.keeper('A stranger');
  const hidden = await refused(lost, { takeBack: true }, stranger);
  expect(hidden).toMatchObject({ code: 'NOT_FOUND' });
  expect({ ...hidden, requestId: '' }).toEqual({
    ...(await refused(lotId, { takeBack: true }, stranger)),
    requestId: '',
  });
  await mutate('recordFate', { animalId: lotId, fate: 'escaped', when: '2026-06-15' });
  expect(await refused(lost, { count: 3 })).toMatchObject({ rule: 'ANIMAL_NOT_ALIVE' });
});

it('of a theft only an owner says that it was none', async () => {
  const stolen = await change(2, 'stolen', '2026-06-10');
  await world.db.animalAccess.deleteMany({ where: { animalId: lotId, relation: 'owner' } });
  expect(await refused(stolen, { takeBack: true })).toMatchObject({ rule: 'THEFT_BY_OWNER_ONLY' });
});
