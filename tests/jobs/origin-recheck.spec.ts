import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { recheckOrigin } from '../../libs/animal/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { JobRegistry, JobRunner } from '../../libs/platform/jobs/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { Database, UnitOfWork } from '../../libs/platform/prisma/index.js';
import {
  ORIGIN_FINDING_CHANGED,
  originFindingChangedNotice,
  OriginWeigher,
  RecheckOriginHandler,
  requestOriginSweep,
  sweepOrigins,
  SweepOriginsHandler,
  weighOrigins,
  WeighOriginsHandler,
} from '../../libs/provenance/index.js';
import { OriginWorld } from '../support/origin-world.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const JOBS = [recheckOrigin, sweepOrigins, weighOrigins];

let server: TestApp;
let world: RegistryWorld;
let origin: OriginWorld;
let runner: JobRunner;
let taxonId: string;
let keeper: TestKeeper;

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
  origin = new OriginWorld(server, world);
  taxonId = await origin.taxon();
  const database = server.app.get(Database, { strict: false });
  const uow = new UnitOfWork(database.client, server.app.get(Clock, { strict: false }));
  const weigher = new OriginWeigher(new NoticeStore(database));
  const handlers = [
    new RecheckOriginHandler(weigher),
    new SweepOriginsHandler(weigher),
    new WeighOriginsHandler(weigher),
  ];
  runner = new JobRunner(database.client, uow, new JobRegistry(JOBS, handlers));
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});
beforeEach(async () => {
  server.setDay('2026-06-10');
  keeper = await world.keeper('Juniper');
});

/** Delivers every message that waits, each twice, until none is left: what a relay and a queue that stutters do. */
async function deliver(): Promise<number> {
  for (let done = 0; ;) {
    const waiting = await world.db.outboxMessage.findMany({
      where: { dispatchedAt: null, job: { in: JOBS.map((job) => job.name) } },
      orderBy: { id: 'asc' },
    });
    if (waiting.length === 0) return done;
    for (const { id } of waiting) {
      await runner.run(id, true);
      await runner.run(id, true);
      await world.db.outboxMessage.update({ where: { id }, data: { dispatchedAt: new Date() } });
    }
    done += waiting.length;
  }
}

const verdicts = async (animalId: string) =>
  (await world.db.originCheck.findMany({ where: { animalId }, orderBy: [{ checkedAt: 'asc' }, { id: 'asc' }] })).map(
    (check) => check.verdict,
  );

async function notices(of: TestKeeper) {
  const rows = await world.db.notice.findMany({
    where: { keeperId: of.keeperId, kind: ORIGIN_FINDING_CHANGED },
    orderBy: { id: 'asc' },
  });
  return rows.map((row) => ({
    ...originFindingChangedNotice.parse(row.body),
    dueOn: row.dueOn?.toISOString().slice(0, 10),
  }));
}

describe('the check of origins after a change', () => {
  it('the contradictory case: one finding, one notice with 14 days and kind words, however often it is delivered', async () => {
    const { young } = await origin.contradictory(keeper, taxonId);
    server.setDay('2026-03-26');
    await deliver();
    expect(await verdicts(young)).toEqual(['contradicted']);
    const told = await notices(keeper);
    expect(told).toHaveLength(1);
    expect(told[0]).toMatchObject({ animalId: young, before: null, now: 'contradicted', dueOn: '2026-04-09' });
    expect(told[0]?.words).toContain('you have 14 days');
    expect(told[0]?.reasons.join(' ')).toContain('20 days');
    expect(told[0]?.missing.join(' ')).toContain('genetic test');
    expect(JSON.stringify(told)).not.toMatch(/fals|fraud|suspic|illegal|Juniper/i);
    const mails = await world.db.mailMessage.count({ where: { accountId: keeper.accountId, kind: 'notice' } });
    expect(mails).toBe(1);
  });

  it('the slip is corrected: the verdict changes once more, and so does one notice', async () => {
    const { young, clutch } = await origin.contradictory(keeper, taxonId);
    server.setDay('2026-03-26');
    await deliver();
    await origin.send(keeper, 'correctBreedingFact', {
      kind: 'clutch',
      factId: clutch,
      when: '2026-02-01',
      reason: 'Wrong month.',
    });
    await deliver();
    expect(await verdicts(young)).toEqual(['contradicted', 'stated_only']);
    const told = (await notices(keeper)).map((notice) => `${notice.before ?? 'nothing'} -> ${notice.now}`);
    expect(told.toSorted()).toEqual(['contradicted -> stated_only', 'nothing -> contradicted']);
  });

  it('the honest case: a finding, no conflict, nothing to answer', async () => {
    const { young } = await origin.honest(keeper, taxonId);
    await deliver();
    expect(await verdicts(young)).toEqual(['consistent']);
    expect(await notices(keeper)).toEqual([]);
  });

  it('a merge and its undoing are weighed for the kept record, and a change of the merged one for both', async () => {
    const send = (name: string, input: object) =>
      server.ask(
        `mutation ($input: ${name.charAt(0).toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { animal { id } } }`,
        { input: { ...input, reason: 'a test' } },
        keeper.token,
      );
    const { young, clutch } = await origin.contradictory(keeper, taxonId);
    const kept = await world.animal(keeper, taxonId, { originClass: 'bred' });
    server.setDay('2026-03-26');
    await deliver();
    await requestOriginSweep(world.db, new Date('2026-03-26T03:00:00Z'));
    await deliver();
    expect(await verdicts(kept)).toEqual(['stated_only']);
    await send('mergeRecords', { keepId: kept, mergeId: young });
    await deliver();
    expect(await verdicts(kept)).toEqual(['stated_only', 'contradicted']);
    server.setDay('2026-03-27');
    await origin.send(keeper, 'correctBreedingFact', {
      kind: 'clutch',
      factId: clutch,
      when: '2026-02-01',
      reason: 'Wrong month.',
    });
    await deliver();
    expect(await verdicts(kept)).toHaveLength(3);
    server.setDay('2026-03-28');
    await send('undoMerge', { mergedId: young });
    await deliver();
    expect((await verdicts(kept)).at(-1)).toBe('stated_only');
  });

  it('walks down the line: grandchildren are weighed when the dam’s acquisition is recorded', async () => {
    const { dam, young } = await origin.honest(keeper, taxonId);
    const grandchild = await world.animal(keeper, taxonId, { originClass: 'bred', damId: young });
    await deliver();
    const before = await verdicts(grandchild);
    await origin.do(keeper, 'recordFact', { animalId: dam, when: '2026-02-20', acquisition: { manner: 'wild_taken' } });
    await deliver();
    expect(await verdicts(young)).toEqual(['consistent', 'contradicted']);
    // Of the grandchild the highest possible generation became known; its verdict did not change, so nobody is told.
    expect(await verdicts(grandchild)).toEqual([...before, 'stated_only']);
    expect((await notices(keeper)).map((notice) => notice.animalId)).toEqual([young]);
  });

  it('tells the present holder, not the one before', async () => {
    const receiver = await world.keeper('Odalys');
    const { young, clutch } = await origin.honest(keeper, taxonId);
    await deliver();
    const step = async (by: TestKeeper, name: string, input: object, answer: string) =>
      server.get<Record<string, { transfer: { id: string } }>>(
        `mutation ($input: ${name.charAt(0).toUpperCase()}${name.slice(1)}Input!) { ${name}(input: $input) { ${answer} } }`,
        { input },
        by.token,
      );
    server.setDay('2026-06-10');
    const offered = await step(
      keeper,
      'offerTransfer',
      { fromKeeperId: keeper.keeperId, toKeeperId: receiver.keeperId, kind: 'gift', items: [{ animalId: young }] },
      'transfer { id }',
    );
    const transferId = offered['offerTransfer']?.transfer.id;
    await step(receiver, 'acceptTransfer', { transferId }, 'transfer { id }');
    await step(keeper, 'sendTransfer', { transferId, sentOn: '2026-06-10' }, 'transfer { id }');
    await step(
      receiver,
      'receiveTransfer',
      { transferId, receivedOn: '2026-06-10', items: [{ animalId: young, arrivals: [{ state: 'well', count: 1 }] }] },
      'transfer { id }',
    );
    await origin.send(keeper, 'correctBreedingFact', {
      kind: 'clutch',
      factId: clutch,
      takeBack: true,
      reason: 'Another dam.',
    });
    await deliver();
    expect((await notices(receiver)).map((notice) => notice.now)).toEqual(['stated_only']);
    expect(await notices(keeper)).toEqual([]);
  });
});

describe('the nightly sweep', () => {
  const slot = (day: string) => new Date(`${day}T02:53:00Z`);

  it('weighs what no message told of, once a slot; a second run finds nothing', async () => {
    const { young } = await origin.contradictory(keeper, taxonId);
    server.setDay('2026-06-11');
    await world.db.outboxMessage.deleteMany({ where: { job: recheckOrigin.name, dispatchedAt: null } });
    await requestOriginSweep(world.db, slot('2026-06-11'));
    await requestOriginSweep(world.db, slot('2026-06-11'));
    expect(await world.db.outboxMessage.count({ where: { job: sweepOrigins.name, dispatchedAt: null } })).toBe(1);
    await deliver();
    expect(await verdicts(young)).toEqual(['contradicted']);
    expect(await notices(keeper)).toHaveLength(1);

    const before = [
      await world.db.originCheck.count(),
      await world.db.notice.count(),
      await world.db.ledgerEntry.count(),
    ];
    await requestOriginSweep(world.db, slot('2026-06-12'));
    server.setDay('2026-06-12');
    await deliver();
    expect([
      await world.db.originCheck.count(),
      await world.db.notice.count(),
      await world.db.ledgerEntry.count(),
    ]).toEqual(before);
  });

  it('weighs again what changed since, with its line', async () => {
    const { dam, young } = await origin.honest(keeper, taxonId);
    await deliver();
    server.setDay('2026-06-10');
    await origin.do(keeper, 'recordFact', { animalId: dam, when: '2026-02-20', acquisition: { manner: 'wild_taken' } });
    await world.db.outboxMessage.deleteMany({ where: { job: recheckOrigin.name, dispatchedAt: null } });
    server.setDay('2026-06-13');
    await requestOriginSweep(world.db, slot('2026-06-13'));
    await deliver();
    expect(await verdicts(young)).toEqual(['consistent', 'contradicted']);
  });
});
