import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { scheduledTasks } from '../../apps/worker/src/schedules.js';
import { Schedules } from '../../libs/platform/jobs/index.js';
import { type JobBench, openBench } from './job-bench.js';

describe('the timetable', () => {
  let bench: JobBench;
  beforeAll(async () => {
    bench = await openBench(undefined);
  });
  afterAll(async () => bench?.close());

  const task = (name: string) => {
    const found = scheduledTasks(bench.client, bench.queue).find((one) => one.name === name);
    if (found === undefined) throw new Error(`No task is called ${name}.`);
    return found;
  };

  it('replaces what an older version left in the queue', async () => {
    await bench.queue.schedule({ name: 'task-of-an-older-version', pattern: '* * * * *' });
    const schedules = new Schedules(bench.queue, scheduledTasks(bench.client, bench.queue), () => undefined);
    await schedules.start();
    schedules.close();
    const names = scheduledTasks(bench.client, bench.queue).map(({ name }) => name);
    expect(names).toContain('check-quarantine-ends');
    expect((await bench.queue.scheduled()).sort()).toEqual(names.sort());
    await schedules.run({ name: 'task-of-an-older-version', slot: new Date() });
  });

  it('does at the start what a machine that was off at night has missed, once a day however often it starts', async () => {
    const nightly = { job: { in: ['document.check-expiry', 'health.check-quarantine-end'] } };
    await bench.client.outboxMessage.deleteMany({ where: nightly });
    for (let start = 0; start < 2; start += 1) {
      const schedules = new Schedules(bench.queue, scheduledTasks(bench.client, bench.queue), () => undefined);
      await schedules.start();
      schedules.close();
    }
    const asked = await bench.client.outboxMessage.findMany({
      where: nightly,
      select: { job: true },
      orderBy: { job: 'asc' },
    });
    expect(asked.map(({ job }) => job)).toEqual(['document.check-expiry', 'health.check-quarantine-end']);
  });

  it('keeps the outcome of a write for thirty days before the slot, however late the task runs', async () => {
    const slot = new Date('2026-03-31T02:17:00Z');
    const accountId = randomUUID();
    const made = { kept: '2026-03-01T02:17:00.000Z', old: '2026-03-01T02:16:59.999Z' };
    for (const [key, createdAt] of Object.entries(made)) {
      await bench.client.idempotencyRecord.create({
        data: { accountId, key, requestHash: 'h', outcome: {}, createdAt: new Date(createdAt) },
      });
    }
    await task('delete-old-idempotency-records').run(slot);
    await task('delete-old-idempotency-records').run(slot);
    const left = await bench.client.idempotencyRecord.findMany({ where: { accountId } });
    expect(left.map(({ key }) => key)).toEqual(['kept']);
  });
});
