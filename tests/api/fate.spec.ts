import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { TellTheftHandler } from '../../libs/custody/index.js';
import { decide } from '../../libs/kernel/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { type Database, UnitOfWork } from '../../libs/platform/prisma/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let test: TestApp;
let world: RegistryWorld;
let taxon: string;
let owner: TestKeeper;
let holder: TestKeeper;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  taxon = await world.taxon();
});
beforeEach(async () => {
  test.setDay('2026-06-20');
  [owner, holder] = [await world.keeper('An owner'), await world.keeper('A holder')];
});
afterAll(async () => {
  await world?.close();
  await test?.close();
});

type Shown = {
  fate: string;
  fateEdtf: string | null;
  count: number;
  holder: { kind: string; keeperId: string | null } | null;
};
const ANIMAL = 'animal { fate fateEdtf count holder { kind keeperId } }';

async function change(who: TestKeeper, name: string, input: object): Promise<Shown> {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const answer = await test.get<Record<string, { animal: Shown }>>(
    `mutation ($input: ${type}!) { ${name}(input: $input) { ${ANIMAL} } }`,
    { input },
    who.token,
  );
  return (answer[name] as { animal: Shown }).animal;
}

async function refusal(who: TestKeeper, name: string, input: object) {
  const type = `${name.charAt(0).toUpperCase()}${name.slice(1)}Input`;
  const { errors } = await test.ask(
    `mutation ($input: ${type}!) { ${name}(input: $input) { __typename } }`,
    { input },
    who.token,
  );
  return errors?.[0]?.extensions ?? null;
}

async function book(who: TestKeeper, from = '2026-06-01', asOf = '2026-06-30') {
  const { stockBook } = await test.get<{
    stockBook: {
      opening: number;
      closing: number;
      unaccounted: number;
      arrivals: { edges: { node: { day: string; cause: string; count: number } }[] };
      departures: { edges: { node: { day: string; cause: string; count: number } }[] };
    };
  }>(
    `query ($k: ID!, $from: Day!, $asOf: Day!) { stockBook(keeperId: $k, from: $from, asOf: $asOf) { opening closing unaccounted
       arrivals { edges { node { day cause count } } } departures { edges { node { day cause count } } } } }`,
    { k: who.keeperId, from, asOf },
    who.token,
  );
  const lines = (of: { edges: { node: { day: string; cause: string; count: number } }[] }) =>
    of.edges.map(({ node }) => `${node.day} ${node.cause} ${node.count}`);
  const { opening, closing, unaccounted, arrivals, departures } = stockBook;
  return { opening, closing, unaccounted, arrivals: lines(arrivals), departures: lines(departures) };
}

/** An animal of `owner` that `holder` has, as on a loan: custody moved, property not. */
async function lent(): Promise<string> {
  const id = await world.animal(owner, taxon, { since: '2026-01-01' });
  const row = await world.db.custody.findFirstOrThrow({ where: { animalId: id, supersededAt: null } });
  await world.db.custody.update({ where: { id: row.id }, data: { validTo: new Date('2026-02-01'), leftBy: 'given' } });
  await world.db.custody.create({
    data: {
      ...row,
      id: crypto.randomUUID(),
      keeperId: holder.keeperId,
      validFrom: new Date('2026-02-01'),
      arrivedBy: 'received',
    },
  });
  await world.db.animalAccess.updateMany({
    where: { animalId: id, relation: 'holder' },
    data: { validTo: new Date('2026-02-01'), readsUntil: new Date() },
  });
  await world.db.animalAccess.create({
    data: {
      id: crypto.randomUUID(),
      animalId: id,
      keeperId: holder.keeperId,
      relation: 'holder',
      validFrom: new Date('2026-02-01'),
    },
  });
  return id;
}

type Report = {
  id: string;
  side: string;
  policeInformed: boolean;
  policeReference: string | null;
  statement: string | null;
  reply: string | null;
  mayReply: boolean;
  closedAt: string | null;
};
async function reportsOf(who: TestKeeper): Promise<Report[]> {
  const { theftReports } = await test.get<{ theftReports: { edges: { node: Report }[] } }>(
    `query { theftReports(first: 10) { edges { node { id side policeInformed policeReference statement reply mayReply closedAt registerNumber } } } }`,
    {},
    who.token,
  );
  return theftReports.edges.map(({ node }) => node);
}

async function runTheftJobs(): Promise<void> {
  const handler = new TellTheftHandler(new NoticeStore({ client: world.db } as Database));
  const uow = new UnitOfWork(world.db, new Clock());
  for (const message of await world.db.outboxMessage.findMany({ where: { job: handler.job.name } }))
    await uow.writeAsServer(null, async (tx) => {
      await handler.handle(tx, handler.job.payload.parse(message.payload));
      return decide(null);
    });
}
const kindsOf = async (who: TestKeeper) =>
  (await world.db.notice.findMany({ where: { keeperId: who.keeperId }, orderBy: { id: 'asc' } })).map(
    ({ kind }) => kind,
  );

describe('missing, escaped and found', () => {
  it('leaves the stock book on the latest day it can be, is with nobody known, and comes back', async () => {
    const animalId = await world.animal(owner, taxon, { since: '2026-01-01' });
    const gone = await change(owner, 'recordFate', { animalId, fate: 'missing', when: '2026-06-05/2026-06-08' });
    expect(gone).toMatchObject({
      fate: 'missing',
      fateEdtf: '2026-06-05/2026-06-08',
      count: 1,
      holder: { kind: 'unknown' },
    });
    expect(await book(owner)).toEqual({
      opening: 1,
      closing: 0,
      unaccounted: 0,
      arrivals: [],
      departures: ['2026-06-08 missing 1'],
    });
    const back = await change(owner, 'recordFate', {
      animalId,
      fate: 'found',
      when: '2026-06-12',
      foundBy: 'a neighbour',
    });
    expect(back).toMatchObject({ fate: 'alive', holder: { kind: 'keeper', keeperId: owner.keeperId } });
    expect(await book(owner)).toMatchObject({
      opening: 1,
      closing: 1,
      unaccounted: 0,
      arrivals: ['2026-06-12 found 1'],
    });
  });

  it('takes days as a keeper says them: found on a day, or so long ago', async () => {
    const animalId = await world.animal(owner, taxon, { since: '2026-01-01' });
    const looked = { foundOn: '2026-06-10', atMostDaysBefore: 3 };
    expect(await change(owner, 'recordFate', { animalId, fate: 'missing', when: looked })).toMatchObject({
      fateEdtf: '2026-06-07/2026-06-10',
    });
    const old = { aboutDaysOld: 6, plusMinusDays: 1, on: '2026-06-20' };
    expect(await change(owner, 'recordDeath', { animalId, when: old })).toMatchObject({
      fate: 'dead',
      fateEdtf: '2026-06-13/2026-06-15',
    });
    const said = { foundOn: '2026-06-16', atMostDaysBefore: 0 };
    expect(await change(owner, 'correctFate', { animalId, reason: 'a slip', when: said })).toMatchObject({
      fateEdtf: '2026-06-16',
    });
    expect(await refusal(owner, 'correctFate', { animalId, reason: 'r', when: { weeksOld: 3 } })).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'input.when', remedy: expect.stringContaining('aboutDaysOld') }],
    });
  });

  it('cannot be offered, split or found before it was lost', async () => {
    const lot = await world.lot(owner, taxon, 6, { since: '2026-01-01' });
    await change(owner, 'recordFate', { animalId: lot, fate: 'escaped', when: '2026-06-10' });
    const offer = {
      fromKeeperId: owner.keeperId,
      toKeeperId: holder.keeperId,
      kind: 'gift',
      items: [{ animalId: lot }],
    };
    expect(await refusal(owner, 'offerTransfer', offer)).toMatchObject({ rule: 'TRANSFER_ANIMAL_GONE' });
    expect(await refusal(owner, 'splitLot', { lotId: lot, count: 2 })).toMatchObject({ rule: 'ANIMAL_NOT_ALIVE' });
    const early = { animalId: lot, fate: 'found', when: '2026-06-09' };
    expect(await refusal(owner, 'recordFate', early)).toMatchObject({ rule: 'CUSTODY_DAY_TOO_EARLY' });
    expect(await refusal(owner, 'recordFate', { animalId: lot, fate: 'escaped' })).toMatchObject({
      rule: 'FATE_ALREADY',
    });
    expect(await change(owner, 'recordFate', { animalId: lot, fate: 'found' })).toMatchObject({
      count: 6,
      fate: 'alive',
    });
    expect(await book(owner)).toMatchObject({ closing: 6, unaccounted: 0 });
  });

  it('goes to an authority when seized, and returns', async () => {
    const animalId = await world.animal(owner, taxon, { since: '2026-01-01' });
    expect(await change(owner, 'recordFate', { animalId, fate: 'seized', when: '2026-06-05' })).toMatchObject({
      holder: { kind: 'authority' },
    });
    expect(await refusal(owner, 'recordFate', { animalId, fate: 'missing' })).toMatchObject({
      rule: 'FATE_IMPOSSIBLE',
    });
    await change(owner, 'recordFate', { animalId, fate: 'found' });
    expect(await book(owner)).toMatchObject({
      arrivals: ['2026-06-20 returned 1'],
      departures: ['2026-06-05 seized 1'],
      closing: 1,
      unaccounted: 0,
    });
  });

  it('is nobody else’s to say, and refuses days to come', async () => {
    const animalId = await world.animal(owner, taxon);
    expect(await refusal(holder, 'recordFate', { animalId, fate: 'missing' })).toMatchObject({ code: 'NOT_FOUND' });
    expect(await refusal(owner, 'recordFate', { animalId, fate: 'missing', when: '2026-07' })).toMatchObject({
      rule: 'DAY_IN_FUTURE',
    });
    const misplaced = { animalId, fate: 'missing', theft: { policeInformed: true } };
    expect(await refusal(owner, 'recordFate', misplaced)).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'input.theft' }],
    });
  });
});

describe('a theft', () => {
  it('is reported by an owner only, and both sides are shown as statements', async () => {
    const animalId = await lent();
    expect(await refusal(holder, 'recordFate', { animalId, fate: 'stolen' })).toMatchObject({
      rule: 'THEFT_BY_OWNER_ONLY',
    });
    const theft = { policeInformed: true, policeReference: 'AZ 77/26', statement: 'It was not given back.' };
    const stolen = await change(owner, 'recordFate', { animalId, fate: 'stolen', theft });
    // By the record the other keeper has it: a statement moves no custody.
    expect(stolen).toMatchObject({ fate: 'stolen', holder: { kind: 'keeper', keeperId: holder.keeperId } });
    const [mine] = await reportsOf(owner);
    const [theirs] = await reportsOf(holder);
    expect(mine).toMatchObject({
      side: 'reporter',
      policeInformed: true,
      policeReference: 'AZ 77/26',
      mayReply: false,
    });
    expect(theirs).toMatchObject({
      side: 'respondent',
      policeReference: null,
      statement: theft.statement,
      mayReply: true,
    });
    await runTheftJobs();
    expect(await kindsOf(holder)).toEqual(['theft_reported']);

    const reportId = mine?.id ?? '';
    expect(await refusal(owner, 'replyToTheftReport', { reportId, statement: 'x' })).toMatchObject({
      code: 'FORBIDDEN',
    });
    const stranger = await world.keeper('A stranger');
    expect(await refusal(stranger, 'replyToTheftReport', { reportId, statement: 'x' })).toMatchObject({
      code: 'NOT_FOUND',
    });
    expect(await reportsOf(stranger)).toEqual([]);
    await test.get(
      `mutation ($input: ReplyToTheftReportInput!) { replyToTheftReport(input: $input) { report { reply } } }`,
      { input: { reportId, statement: 'The loan runs until autumn.' } },
      holder.token,
    );
    expect(await refusal(holder, 'replyToTheftReport', { reportId, statement: 'More.' })).toMatchObject({
      rule: 'THEFT_REPLIED',
    });
    expect((await reportsOf(owner))[0]).toMatchObject({ reply: 'The loan runs until autumn.' });
    await runTheftJobs();
    expect(await kindsOf(owner)).toEqual(['theft_replied']);

    const offer = { fromKeeperId: holder.keeperId, toKeeperId: owner.keeperId, kind: 'gift', items: [{ animalId }] };
    expect(await refusal(holder, 'offerTransfer', offer)).toMatchObject({ rule: 'TRANSFER_ANIMAL_GONE' });
    expect(await refusal(holder, 'recordFate', { animalId, fate: 'found' })).toMatchObject({
      rule: 'THEFT_BY_OWNER_ONLY',
    });
    const back = await change(owner, 'recordFate', { animalId, fate: 'found' });
    expect(back).toMatchObject({ fate: 'alive', holder: { keeperId: holder.keeperId } });
    expect((await reportsOf(owner))[0]?.closedAt).not.toBeNull();
    await runTheftJobs();
    expect(await kindsOf(holder)).toEqual(['theft_reported', 'theft_report_closed']);
  });

  it('of an animal at home leaves the stock; a coordinator of the taxon reads the statements and not the police’s number', async () => {
    const animalId = await world.animal(owner, taxon, { since: '2026-01-01' });
    const theft = { policeInformed: true, policeReference: 'secret', statement: 'The door was broken.' };
    expect(await change(owner, 'recordFate', { animalId, fate: 'stolen', theft })).toMatchObject({
      holder: { kind: 'unknown' },
    });
    expect(await book(owner)).toMatchObject({ departures: ['2026-06-20 stolen 1'], closing: 0, unaccounted: 0 });
    const coordinator = await world.keeper('A coordinator');
    const clubId = await world.club(owner, coordinator);
    expect(await reportsOf(coordinator)).toEqual([]);
    await world.db.office.create({
      data: {
        id: crypto.randomUUID(),
        clubId,
        accountId: coordinator.accountId,
        taxonId: taxon,
        validFrom: new Date('2026-01-01'),
      },
    });
    expect(await reportsOf(coordinator)).toMatchObject([
      { side: 'coordinator', statement: theft.statement, policeReference: null, mayReply: false },
    ]);
  });
});

describe('a death', () => {
  it('has an uncertain day, a cause and a certainty, and is corrected or taken back', async () => {
    const animalId = await world.animal(owner, taxon, { since: '2026-01-01' });
    const dead = await change(owner, 'recordDeath', {
      animalId,
      when: '2026-06',
      cause: 'not seen',
      certainty: 'likely',
    });
    expect(dead).toMatchObject({ fate: 'dead', fateEdtf: '2026-06', count: 0, holder: null });
    expect(await refusal(owner, 'correctFate', { animalId, reason: 'r' })).toMatchObject({ code: 'INVALID_INPUT' });
    const corrected = await change(owner, 'correctFate', {
      animalId,
      reason: 'Found it.',
      when: '2026-06-11',
      certainty: 'certain',
    });
    expect(corrected).toMatchObject({ fate: 'dead', fateEdtf: '2026-06-11' });
    expect(await book(owner)).toMatchObject({ departures: ['2026-06-11 died 1'], closing: 0, unaccounted: 0 });
    const facts = await world.db.animalFact.findMany({
      where: { animalId, kind: 'fate' },
      orderBy: { recordedAt: 'asc' },
    });
    expect(facts.map(({ body }) => body)).toEqual([
      { fate: 'dead', cause: 'not seen', certainty: 'likely' },
      { fate: 'dead', cause: 'not seen', certainty: 'certain' },
    ]);
    const alive = await change(owner, 'correctFate', { animalId, reason: 'It had dug itself in.', takeBack: true });
    expect(alive).toMatchObject({ fate: 'alive', count: 1, holder: { keeperId: owner.keeperId } });
    expect(await book(owner)).toMatchObject({ departures: [], closing: 1, unaccounted: 0 });
    expect(await refusal(owner, 'correctFate', { animalId, reason: 'r', takeBack: true })).toMatchObject({
      rule: 'FATE_NOT_GONE',
    });
  });

  it('of a missing animal, taken back, leaves it missing', async () => {
    const animalId = await world.animal(owner, taxon, { since: '2026-01-01' });
    await change(owner, 'recordFate', { animalId, fate: 'missing', when: '2026-06-01' });
    await change(owner, 'recordDeath', { animalId, on: '2026-06-09' });
    expect(await book(owner, '2026-05-01')).toMatchObject({
      departures: ['2026-06-01 missing 1'],
      closing: 0,
      unaccounted: 0,
    });
    expect(await change(owner, 'correctFate', { animalId, reason: 'Another one.', takeBack: true })).toMatchObject({
      fate: 'missing',
      fateEdtf: '2026-06-01',
      holder: { kind: 'unknown' },
    });
  });
});
