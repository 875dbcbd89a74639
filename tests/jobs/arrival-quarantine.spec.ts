import 'reflect-metadata';
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { groupEnd, findArrivalQuarantine, startArrivalQuarantine } from '../../libs/health/index.js';
import { day, decide } from '../../libs/kernel/index.js';
import { NoticeStore } from '../../libs/membership/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { type JobRunner } from '../../libs/platform/jobs/index.js';
import {
  arrivalQuarantineNotice,
  remindArrivalQuarantine,
  RemindArrivalQuarantineHandler,
} from '../../libs/transfer/index.js';
import { type JobBench, openBench } from './job-bench.js';
import { receivedTransfer } from './world.js';

describe('the reminder of the arrival quarantine', () => {
  let bench: JobBench;
  let notices: NoticeStore;
  let runner: JobRunner;
  beforeAll(async () => {
    bench = await openBench(undefined);
    notices = new NoticeStore({ client: bench.client } as Database);
    runner = bench.runner(new RemindArrivalQuarantineHandler(notices));
  });
  afterAll(async () => bench?.close());

  async function remind(payload: { transferId: string; keeperId: string }): Promise<void> {
    await runner.run(await bench.send(remindArrivalQuarantine, payload), true);
  }

  /** What the use case that receives, or takes up, does in its transaction. */
  const startQuarantine = (arrival: { transferId: string; keeperId: string; alive: string[] }) =>
    bench.uow.writeAsServer(null, async (tx) => {
      const { transferId, keeperId, alive: animalIds } = arrival;
      return decide(await startArrivalQuarantine(tx, { transferId, keeperId, animalIds, on: day('2026-03-01') }));
    });

  it('tells the receiver the longest rule of what arrived alive, once, however often it is sent', async () => {
    const received = await receivedTransfer(bench.client, '2026-03-01', [
      { state: 'well', quarantineDays: 30 },
      { state: 'ill', quarantineDays: 90 },
      { state: 'dead', quarantineDays: 120 },
    ]);
    const { transferId, keeperId, registerNumbers } = received;
    const groupId = await startQuarantine(received);
    await remind({ transferId, keeperId });
    await remind({ transferId, keeperId });
    const [notice, ...more] = await notices.list(keeperId, null, 10);
    expect(more).toEqual([]);
    expect(notice).toMatchObject({ keeperId, kind: 'arrival_quarantine', dueOn: '2026-05-30' });
    const body = arrivalQuarantineNotice.parse(notice?.body);
    expect(body).toMatchObject({
      transferId,
      registerNumbers: registerNumbers.slice(0, 2).sort(),
      groupId,
      days: 90,
      source: expect.stringContaining(': invented rule of 90 days'),
    });
    const group = await findArrivalQuarantine(bench.client, transferId);
    expect(group && groupEnd(group, day('2026-03-01'))).toBe(notice?.dueOn);
    expect(body.caution).toContain('veterinarian');
    const entries = await bench.client.ledgerEntry.findMany({ where: { subjects: { has: transferId } } });
    expect(entries.map(({ action }) => action)).toEqual(['transfer.arrival-quarantine-reminded']);
  });

  it('says nothing when no animal arrived alive', async () => {
    const received = await receivedTransfer(bench.client, '2026-03-01', [
      { state: 'dead', quarantineDays: 30 },
      { state: 'refused', quarantineDays: 30 },
    ]);
    const { transferId, keeperId } = received;
    expect(await startQuarantine(received)).toBeNull();
    await remind({ transferId, keeperId });
    expect(await notices.list(keeperId, null, 10)).toEqual([]);
  });

  it('says nothing to a keeper who did not receive the animals', async () => {
    const received = await receivedTransfer(bench.client, '2026-03-01', [{ state: 'well', quarantineDays: 30 }]);
    const { transferId, fromKeeperId } = received;
    await startQuarantine(received);
    await remind({ transferId, keeperId: fromKeeperId });
    expect(await notices.list(fromKeeperId, null, 10)).toEqual([]);
  });
});

describe('the list of notices', () => {
  let bench: JobBench;
  beforeAll(async () => {
    bench = await openBench(undefined);
  });
  afterAll(async () => bench?.close());

  it('goes on after the last one of the page before, newest first, without gap or repetition', async () => {
    const notices = new NoticeStore({ client: bench.client } as Database);
    const { keeperId, fromKeeperId } = await receivedTransfer(bench.client, '2026-03-01', []);
    const moments = [
      '2026-03-01T10:00:00.001Z',
      '2026-03-01T10:00:00.001Z',
      '2026-03-01T10:00:00.002Z',
      '2026-03-02T00:00:00.000Z',
      '2026-03-01T10:00:00.001Z',
    ];
    for (const [index, at] of moments.entries()) {
      for (const owner of [keeperId, fromKeeperId]) {
        await bench.client.notice.create({
          data: {
            id: randomUUID(),
            keeperId: owner,
            kind: 'test',
            body: { index },
            dedupeKey: `${owner}:${index}`,
            createdAt: new Date(at),
          },
        });
      }
    }
    const seen = [];
    let after = null;
    for (;;) {
      const page = await notices.list(keeperId, after, 2);
      if (page.length === 0) break;
      seen.push(...page);
      after = page.at(-1) ?? null;
    }
    expect(seen.every((notice) => notice.keeperId === keeperId)).toBe(true);
    expect(seen.map(({ body }) => (body as { index: number }).index).sort()).toEqual([0, 1, 2, 3, 4]);
    expect(seen.map(({ createdAt }) => createdAt.toISOString())).toEqual([...moments].sort().reverse());
  });
});
