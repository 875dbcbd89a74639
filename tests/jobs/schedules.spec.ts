import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { scheduledTasks } from '../../apps/worker/src/schedules.js';
import { deleteOldMessages, Schedules } from '../../libs/platform/jobs/index.js';
import { reopenLost } from '../../libs/platform/outbox/index.js';
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

  it('deletes messages done more than thirty days ago with their receipts, in batches, and nothing that is still needed', async () => {
    const slot = new Date('2026-03-31T02:19:00Z');
    const [old, fresh] = [new Date('2026-03-01T02:18:59.999Z'), new Date('2026-03-01T02:19:00Z')];
    const message = async (name: string, receiptAt: Date | null, more: { dispatchedAt?: Date | null } = {}) => {
      const id = randomUUID();
      const dispatchedAt = more.dispatchedAt === undefined ? old : more.dispatchedAt;
      await bench.client.outboxMessage.create({
        data: { id, job: name, schemaVersion: 1, payload: {}, availableAt: old, createdAt: old, dispatchedAt },
      });
      if (receiptAt !== null)
        await bench.client.jobReceipt.create({ data: { messageId: id, handler: name, at: receiptAt } });
      return id;
    };
    const name = `pruned-${randomUUID()}`;
    const done = [await message(name, old), await message(name, old), await message(name, old)];
    const lost = await message(name, null);
    const waiting = await message(name, null, { dispatchedAt: null });
    const late = await message(name, fresh);
    const failed = await message(name, old);
    await bench.client.jobFailure.create({ data: { messageId: failed, job: name, payload: {}, error: 'e', at: old } });
    expect(await deleteOldMessages(bench.client, slot, 2)).toBeGreaterThanOrEqual(3);
    await task('delete-old-messages').run(slot);
    const left = await bench.client.outboxMessage.findMany({ where: { job: name }, select: { id: true } });
    expect(left.map(({ id }) => id).sort()).toEqual([lost, waiting, late, failed].sort());
    const receipts = await bench.client.jobReceipt.findMany({ where: { handler: name } });
    expect(receipts.map(({ messageId }) => messageId).sort()).toEqual([late, failed].sort());
    expect(await bench.client.jobReceipt.count({ where: { messageId: { in: done } } })).toBe(0);
    // What the queue lost is still found and handed over again.
    await reopenLost(bench.client, { stateOf: () => Promise.resolve('absent'), forget: () => Promise.resolve() }, slot);
    const again = await bench.client.outboxMessage.findUniqueOrThrow({ where: { id: lost } });
    expect(again.dispatchedAt).toBeNull();
    await bench.client.jobFailure.delete({ where: { messageId: failed } });
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
