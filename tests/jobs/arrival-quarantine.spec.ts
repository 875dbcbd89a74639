import 'reflect-metadata';
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
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

  it('tells the receiver the longest rule of what arrived alive, once, however often it is sent', async () => {
    const { transferId, keeperId, registerNumbers } = await receivedTransfer(bench.client, '2026-03-01', [
      { state: 'well', quarantineDays: 30 },
      { state: 'ill', quarantineDays: 90 },
      { state: 'dead', quarantineDays: 120 },
    ]);
    await remind({ transferId, keeperId });
    await remind({ transferId, keeperId });
    const [notice, ...more] = await notices.list(keeperId, null, 10);
    expect(more).toEqual([]);
    expect(notice).toMatchObject({ keeperId, kind: 'arrival_quarantine', dueOn: '2026-05-30' });
    const body = arrivalQuarantineNotice.parse(notice?.body);
    expect(body).toMatchObject({
      transferId,
      registerNumbers: registerNumbers.slice(0, 2).sort(),
      days: 90,
      source: 'invented rule of 90 days',
    });
    expect(body.caution).toContain('veterinarian');
    const entries = await bench.client.ledgerEntry.findMany({ where: { subjects: { has: transferId } } });
    expect(entries.map(({ action }) => action)).toEqual(['transfer.arrival-quarantine-reminded']);
  });

  it('says nothing when no animal arrived alive', async () => {
    const { transferId, keeperId } = await receivedTransfer(bench.client, '2026-03-01', [
      { state: 'dead', quarantineDays: 30 },
      { state: 'refused', quarantineDays: 30 },
    ]);
    await remind({ transferId, keeperId });
    expect(await notices.list(keeperId, null, 10)).toEqual([]);
  });

  it('says nothing to a keeper who did not receive the animals', async () => {
    const { transferId, fromKeeperId } = await receivedTransfer(bench.client, '2026-03-01', [
      { state: 'well', quarantineDays: 30 },
    ]);
    await remind({ transferId, keeperId: fromKeeperId });
    expect(await notices.list(fromKeeperId, null, 10)).toEqual([]);
  });

  it('tells the keeper who took up what an outside party received', async () => {
    const { transferId, keeperId, fromKeeperId } = await receivedTransfer(bench.client, '2026-03-01', [
      { state: 'well', quarantineDays: 30 },
    ]);
    const partyId = randomUUID();
    await bench.client.outsideParty.create({
      data: {
        id: partyId,
        recordedFor: fromKeeperId,
        name: 'Invented buyer',
        takenUpByKeeper: keeperId,
        createdAt: new Date(),
      },
    });
    await bench.client.transfer.update({
      where: { id: transferId },
      data: { toKeeperId: null, toOutsidePartyId: partyId },
    });
    await remind({ transferId, keeperId });
    expect(await notices.list(keeperId, null, 10)).toHaveLength(1);
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
