import { afterAll, beforeAll, beforeEach, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { Clock } from '../../libs/platform/clock.js';
import { readRegion } from '../support/region-query.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/** What the coordinator counts in the region of a taxon that one keeper has, and what that keeper’s own book says, is the same. */
const REGION = 'XA-NO';
/** Noon of the last day, a millisecond later each time it is asked: what is recorded one after the other has an order. */
const NOON = Date.parse('2026-06-20T12:00:00Z');
let ticks = 0;

let test: TestApp;
let world: RegistryWorld;
let coordinator: TestKeeper;
let keeper: TestKeeper;
let clubId: string;
let taxonId: string;
let lotId: string;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  test.app.get(Clock, { strict: false }).now = () => new Date(NOON + ++ticks);
  coordinator = await world.keeperInRows('Coordinator');
  clubId = await world.club();
  const validFrom = new Date('2026-01-01');
  await world.db.office.create({
    data: { id: uuid(), clubId, accountId: coordinator.accountId, region: REGION, validFrom },
  });
});
beforeEach(async () => {
  keeper = await world.keeperInRows('Alder');
  const { keeperId } = keeper;
  await world.db.keeper.update({ where: { id: keeperId }, data: { region: REGION, holdingsShown: 'coordinator' } });
  await world.db.clubMember.create({ data: { clubId, keeperId, joinedOn: new Date('2025-01-01') } });
  taxonId = await world.taxon();
  lotId = await world.lot(keeper, taxonId, 20, { since: '2026-06-01' });
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

async function mutate(name: string, input: object): Promise<void> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  await test.get(`mutation ($input: ${type}!) { ${name}(input: $input) { __typename } }`, { input }, keeper.token);
}

/** What was recorded last of the lot and is in force. */
async function last(): Promise<string> {
  const where = { lotId, supersededAt: null };
  return (await world.db.lotChange.findFirstOrThrow({ where, orderBy: { recordedAt: 'desc' } })).id;
}

async function lose(count: number, cause: string, on: string): Promise<string> {
  await mutate('loseFromLot', { lotId, count, cause, on });
  return last();
}

/** Corrects a change and gives what is in force in its place. */
async function correct(changeId: string, input: object): Promise<string> {
  await mutate('correctLotChange', { changeId, reason: 'a slip', ...input });
  return last();
}

type Moved = { opening: number; deaths: number; departures: number; closing: number; unaccounted: number };

async function regionOf(since: string, asOf: string): Promise<Moved> {
  const { total, taxa } = await readRegion(test, { clubId, region: REGION, since, asOf, taxonId }, coordinator.token);
  const { opening, deaths, departures, closing, unaccounted, sexes } = total;
  expect(sexes).toBe(`0.0.${closing}`);
  if (closing > 0) expect(taxa.edges.map(({ node }) => node.count.closing)).toEqual([closing]);
  return { opening, deaths, departures, closing, unaccounted };
}

/** The keeper’s own book, in which there is nothing else. */
async function bookOf(from: string, asOf: string): Promise<Moved> {
  type Line = { node: { count: number; cause: string } };
  const { stockBook } = await test.get<{
    stockBook: { opening: number; closing: number; unaccounted: number; departures: { edges: Line[] } };
  }>(
    `query ($k: ID!, $from: Day!, $asOf: Day!) { stockBook(keeperId: $k, from: $from, asOf: $asOf) {
        opening closing unaccounted departures { edges { node { count cause } } } } }`,
    { k: keeper.keeperId, from, asOf },
    keeper.token,
  );
  const { opening, closing, unaccounted, departures } = stockBook;
  const sum = (fits: (cause: string) => boolean) =>
    departures.edges.filter(({ node }) => fits(node.cause)).reduce((all, { node }) => all + node.count, 0);
  const died = (cause: string) => cause === 'died';
  return { opening, deaths: sum(died), departures: sum((cause) => !died(cause)), closing, unaccounted };
}

/** Of region and book at once, of June and of its two parts: [deaths, other departures, closing, unaccounted]. */
async function june(): Promise<number[][]> {
  const parts: number[][] = [];
  for (const [since, asOf] of [
    ['2026-06-01', '2026-06-20'],
    ['2026-06-01', '2026-06-08'],
    ['2026-06-09', '2026-06-20'],
  ] as const) {
    const region = await regionOf(since, asOf);
    expect(await bookOf(since, asOf)).toEqual(region);
    parts.push([region.deaths, region.departures, region.closing, region.unaccounted]);
    const before = parts[1];
    if (parts.length === 3 && before !== undefined) expect(region.opening).toBe(before[2]);
  }
  return parts;
}

it('a loss put right in number, day and cause, and taken back, counts as it is in force on every day', async () => {
  const all = [
    [0, 0, 20, 0],
    [0, 0, 20, 0],
    [0, 0, 20, 0],
  ];
  expect(await june()).toEqual(all);
  const first = await lose(12, 'died', '2026-06-10');
  expect(await june()).toEqual([
    [12, 0, 8, 0],
    [0, 0, 20, 0],
    [12, 0, 8, 0],
  ]);
  const second = await correct(first, { count: 2 });
  expect(await june()).toEqual([
    [2, 0, 18, 0],
    [0, 0, 20, 0],
    [2, 0, 18, 0],
  ]);
  const third = await correct(second, { on: '2026-06-05', cause: 'escaped' });
  expect(await june()).toEqual([
    [0, 2, 18, 0],
    [0, 2, 18, 0],
    [0, 0, 18, 0],
  ]);
  await correct(third, { takeBack: true });
  expect(await june()).toEqual(all);
});

it('a lot that had died out is there again on the days after, and gone again once that is said anew', async () => {
  await lose(4, 'died', '2026-06-05');
  const rest = await lose(16, 'died', '2026-06-10');
  const gone = [
    [20, 0, 0, 0],
    [4, 0, 16, 0],
    [16, 0, 0, 0],
  ];
  expect(await june()).toEqual(gone);
  const earlier = await correct(rest, { on: '2026-06-07' });
  expect(await june()).toEqual([
    [20, 0, 0, 0],
    [20, 0, 0, 0],
    [0, 0, 0, 0],
  ]);
  const some = await correct(earlier, { on: '2026-06-10', count: 10 });
  expect(await june()).toEqual([
    [14, 0, 6, 0],
    [4, 0, 16, 0],
    [10, 0, 6, 0],
  ]);
  const again = await correct(some, { count: 16 });
  expect(await june()).toEqual(gone);
  await correct(again, { takeBack: true });
  expect(await june()).toEqual([
    [4, 0, 16, 0],
    [4, 0, 16, 0],
    [0, 0, 16, 0],
  ]);
});

it('a loss put right before a recount changes what is unexplained, and not what is there', async () => {
  const lost = await lose(5, 'died', '2026-06-05');
  await mutate('recountLot', { lotId, count: 14, reason: 'Counted.', on: '2026-06-12' });
  expect(await june()).toEqual([
    [5, 0, 14, -1],
    [5, 0, 15, 0],
    [0, 0, 14, -1],
  ]);
  await mutate('correctLotChange', { changeId: lost, reason: 'a slip', takeBack: true });
  expect(await june()).toEqual([
    [0, 0, 14, -6],
    [0, 0, 20, 0],
    [0, 0, 14, -6],
  ]);
});

it('a find that is taken back is not there, and what had escaped is away', async () => {
  await lose(6, 'escaped', '2026-06-05');
  await mutate('findInLot', { lotId, count: 5, on: '2026-06-10' });
  expect(await june()).toEqual([
    [0, 6, 19, 0],
    [0, 6, 14, 0],
    [0, 0, 19, 0],
  ]);
  const fewer = await correct(await last(), { count: 1 });
  expect(await june()).toEqual([
    [0, 6, 15, 0],
    [0, 6, 14, 0],
    [0, 0, 15, 0],
  ]);
  await correct(fewer, { takeBack: true });
  expect(await june()).toEqual([
    [0, 6, 14, 0],
    [0, 6, 14, 0],
    [0, 0, 14, 0],
  ]);
});
