import 'reflect-metadata';
import { randomUUID } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import pg from 'pg';
import { RecordDeath } from '../../libs/custody/index.js';
import {
  animalState,
  checkQuarantineEnd,
  CheckQuarantineEndHandler,
  endsReached,
  QuarantineReadStore,
  requestQuarantineCheck,
  RESTART_SCOPES,
} from '../../libs/health/index.js';
import { addDays, day } from '../../libs/kernel/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { type JobRunner } from '../../libs/platform/jobs/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { type JobBench, openBench } from './job-bench.js';
import { quarantineWorld, type QuarantineWorld } from './quarantine-world.js';

describe('the check of quarantine ends', () => {
  let bench: JobBench;
  let runner: JobRunner;
  let w: QuarantineWorld;
  let gecko: string;
  let tortoise: string;
  beforeAll(async () => {
    bench = await openBench(undefined);
    runner = bench.runner(new CheckQuarantineEndHandler(new NoticeStore({ client: bench.client } as Database)));
  });
  beforeEach(async () => {
    w = await quarantineWorld(bench.client);
    gecko = await w.taxon('Squamata');
    tortoise = await w.taxon('Testudines');
  });
  afterAll(async () => bench?.close());

  const check = async (on: string, groupId: string | null = null) =>
    runner.run(await bench.send(checkQuarantineEnd, { day: on, groupId, after: null }), true);

  async function openGroup(animalIds: string[], enteredOn = '2026-01-01'): Promise<string> {
    w.setDay(enteredOn);
    const command = { keeperId: w.keeperId, animalIds, enteredOn: day(enteredOn) };
    return (await w.open.execute(w.viewer, command)).groupId;
  }

  it('tells the keeper once, when the day has come and not before', async () => {
    const animals = [await w.animal(gecko), await w.animal(gecko)];
    const groupId = await openGroup(animals);
    await check('2026-01-30');
    expect(await w.notices(groupId)).toEqual([]);
    await check('2026-01-31');
    const told = [{ dueOn: '2026-01-31', registerNumbers: await w.numbersOf(animals) }];
    expect(
      (await w.notices(groupId)).map((each) => ({ ...each, registerNumbers: each.registerNumbers.sort() })),
    ).toEqual(told);
    const count = () => Promise.all([bench.client.notice.count(), bench.client.ledgerEntry.count()]);
    const before = await count();
    await check('2026-01-31');
    await check('2026-02-15');
    await check('2026-01-31', groupId);
    expect(await count()).toEqual(before);
  });

  it('never tells an end that a newcomer of the order has put off; the new end gets its own', async () => {
    const [a, b] = [await w.animal(gecko), await w.animal(gecko)];
    const groupId = await openGroup([a]);
    w.setDay('2026-01-20');
    await w.join.execute(w.viewer, { groupId, animalIds: [b], enteredOn: day('2026-01-20') });
    await check('2026-01-31');
    expect(await w.notices(groupId)).toEqual([]);
    await check('2026-02-19');
    expect(await w.notices(groupId)).toMatchObject([{ dueOn: '2026-02-19' }]);
  });

  it('an end that was told and is put off by a joining recorded late is followed by the new one', async () => {
    const [a, b] = [await w.animal(gecko), await w.animal(gecko)];
    const groupId = await openGroup([a]);
    await check('2026-01-31');
    w.setDay('2026-02-03');
    await w.join.execute(w.viewer, { groupId, animalIds: [b], enteredOn: day('2026-01-20') });
    await check('2026-02-19');
    expect((await w.notices(groupId)).map(({ dueOn }) => dueOn)).toEqual(['2026-01-31', '2026-02-19']);
  });

  it('an animal of another order has its own end in the same group', async () => {
    const [a, t] = [await w.animal(gecko), await w.animal(tortoise)];
    const groupId = await openGroup([a]);
    w.setDay('2026-01-10');
    await w.join.execute(w.viewer, { groupId, animalIds: [t], enteredOn: day('2026-01-10') });
    await check('2026-02-20');
    expect(await w.notices(groupId)).toEqual([
      { dueOn: '2026-01-31', registerNumbers: await w.numbersOf([a]) },
      { dueOn: '2026-02-09', registerNumbers: await w.numbersOf([t]) },
    ]);
  });

  it('says nothing of those who were released or died before', async () => {
    const [released, dead] = [await w.animal(gecko), await w.animal(gecko)];
    const early = await openGroup([released]);
    const alone = await openGroup([dead]);
    w.setDay('2026-01-12');
    await w.release.execute(w.viewer, { groupId: early, on: day('2026-01-12'), reason: 'the veterinarian decided so' });
    const death = new RecordDeath(w.uow);
    await death.execute(w.viewer, { animalId: dead, on: day('2026-01-12'), cause: null, count: null });
    const store = new QuarantineReadStore({ client: bench.client } as Database);
    const group = await store.find(alone);
    expect(group && animalState(group, dead, day('2026-01-12'))).toEqual({ kind: 'left', on: '2026-01-12' });
    expect(await store.isInQuarantine([released, dead], day('2026-01-12'))).toEqual(new Set());
    expect(await store.isInQuarantine([released, dead], day('2026-01-11'))).toEqual(new Set([released, dead]));
    await check('2026-03-01');
    expect([await w.notices(early), await w.notices(alone)]).toEqual([[], []]);
  });

  it('is asked for at every entry, and at night once a day', async () => {
    const groupId = await openGroup([await w.animal(gecko)]);
    await w.join.execute(w.viewer, { groupId, animalIds: [await w.animal(gecko)], enteredOn: day('2026-01-01') });
    const asked = await bench.client.outboxMessage.findMany({
      where: { job: checkQuarantineEnd.name, payload: { path: ['groupId'], equals: groupId } },
    });
    expect(asked).toHaveLength(2);
    await requestQuarantineCheck(bench.client, new Date('2026-01-31T02:29:00Z'));
    await requestQuarantineCheck(bench.client, new Date('2026-01-31T02:29:00Z'));
    const nightly = await bench.client.outboxMessage.findMany({
      where: { dedupeKey: { startsWith: 'health.check-quarantine-end:2026-01-31:' } },
    });
    expect(nightly).toHaveLength(1);
    await runner.run(nightly[0]?.id ?? '', true);
    expect(await w.notices(groupId)).toMatchObject([{ dueOn: '2026-01-31' }]);
  });

  it('waits for a joining at the same moment, and then counts it', async () => {
    const [a, b] = [await w.animal(gecko), await w.animal(gecko)];
    const groupId = await openGroup([a]);
    const joining = new pg.Client({ connectionString: bench.place.databaseUrl });
    await joining.connect();
    await joining.query('BEGIN');
    await joining.query('SELECT id FROM quarantine_group WHERE id = $1 FOR NO KEY UPDATE', [groupId]);
    await joining.query(
      'INSERT INTO quarantine_entry (id, group_id, animal_id, entered_on, recorded_at, recorded_by) VALUES ($1, $2, $3, $4, now(), $1)',
      [randomUUID(), groupId, b, '2026-01-20'],
    );
    const checking = check('2026-01-31', groupId);
    for (let waiting = 0, tries = 0; waiting === 0; tries += 1) {
      if (tries > 200) throw new Error('The check did not come to wait for the group.');
      await sleep(20);
      const { rows } = await joining.query<{ waiting: number }>(
        `SELECT count(*)::int AS waiting FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'`,
      );
      waiting = rows[0]?.waiting ?? 0;
    }
    await joining.query('COMMIT');
    await joining.end();
    await checking;
    expect(await w.notices(groupId)).toEqual([]);
    await check('2026-02-19', groupId);
    expect(await w.notices(groupId)).toMatchObject([{ dueOn: '2026-02-19' }]);
  });

  it('writes one notice when it runs twice at the same moment', async () => {
    const groupId = await openGroup([await w.animal(gecko)]);
    const messages = [];
    for (let each = 0; each < 2; each += 1)
      messages.push(await bench.send(checkQuarantineEnd, { day: '2026-01-31', groupId: null, after: null }));
    await Promise.all(messages.map((message) => runner.run(message, true)));
    expect(await w.notices(groupId)).toHaveLength(1);
    const entries = await bench.client.ledgerEntry.count({
      where: { action: 'health.quarantine-end-noticed', subjects: { has: groupId } },
    });
    expect(entries).toBe(1);
  });

  it('finds in SQL what the rule finds, over groups of every scope', async () => {
    const taxa = [gecko, tortoise, await w.taxon('Anura', 30, 'Amphibia')];
    // A small generator with a fixed start, so that a failure can be repeated.
    let seed = 20_260_101;
    const below = (limit: number) => (seed = (seed * 48_271) % 2_147_483_647) % limit;
    const animals: string[] = [];
    const groupIds: string[] = [];
    for (let each = 0; each < 30; each += 1) {
      const groupId = randomUUID();
      groupIds.push(groupId);
      await bench.client.quarantineGroup.create({
        data: {
          ...{ id: groupId, keeperId: w.keeperId, name: 'invented', days: 5 + below(40), daysSource: 'invented' },
          restartScope: RESTART_SCOPES[below(3)] ?? 'order',
          openedAt: new Date('2026-01-01'),
        },
      });
      for (let entry = 0; entry <= below(4); entry += 1) {
        const animalId = await w.animal(taxa[below(3)] ?? gecko);
        animals.push(animalId);
        const enteredOn = addDays(day('2026-01-01'), below(60));
        const leftOn = below(3) === 0 ? addDays(enteredOn, below(40)) : null;
        await bench.client.quarantineEntry.create({
          data: {
            ...{ id: randomUUID(), groupId, animalId, enteredOn: new Date(enteredOn) },
            leftOn: leftOn === null ? null : new Date(leftOn),
            recordedAt: new Date(),
            recordedBy: randomUUID(),
          },
        });
      }
    }
    const store = new QuarantineReadStore({ client: bench.client } as Database);
    const groups = await store.page(w.keeperId, 100, null);
    expect(groups).toHaveLength(30);
    let kept = 0;
    for (let offset = 0; offset < 120; offset += 7) {
      const on = addDays(day('2026-01-01'), offset);
      const expected = groups.flatMap((group) =>
        group.entries
          .filter(({ animalId }) => animalState(group, animalId, on).kind === 'in_quarantine')
          .map(({ animalId }) => animalId),
      );
      kept += expected.length;
      expect(await store.isInQuarantine(animals, on)).toEqual(new Set(expected));
    }
    expect(kept).toBeGreaterThan(50);

    const on = day('2026-03-01');
    await check(on);
    const due = groups.flatMap((group) => endsReached(group, on).map((end) => `${group.id} ${end.on}`));
    const told = [];
    for (const groupId of groupIds)
      told.push(...(await w.notices(groupId)).map(({ dueOn }) => `${groupId} ${dueOn ?? ''}`));
    expect(told.sort()).toEqual(due.sort());
    expect(due.length).toBeGreaterThan(5);
  });
});
