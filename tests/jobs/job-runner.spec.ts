import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { z } from 'zod';
import { NoRetry } from '../../libs/platform/queue/index.js';
import { defineJob } from '../../libs/platform/outbox/index.js';
import { counted, counting, countOne, type JobBench, openBench } from './job-bench.js';

describe('delivering a message', () => {
  let bench: JobBench;
  beforeAll(async () => {
    bench = await openBench(undefined);
  });
  afterAll(async () => bench?.close());

  const receipts = (messageId: string) => bench.client.jobReceipt.count({ where: { messageId } });
  const failure = (messageId: string) => bench.client.jobFailure.findUnique({ where: { messageId } });

  it('works once when it is delivered twice, one after the other', async () => {
    const subject = randomUUID();
    const id = await bench.send(countOne, { subject });
    const runner = bench.runner(counting());
    await runner.run(id, false);
    await runner.run(id, false);
    expect(await counted(bench.client, subject)).toBe(1);
    expect(await receipts(id)).toBe(1);
  });

  it('works once when it is delivered four times at the same moment', async () => {
    const subject = randomUUID();
    const id = await bench.send(countOne, { subject });
    const runner = bench.runner(counting());
    await Promise.all([1, 2, 3, 4].map(() => runner.run(id, false)));
    expect(await counted(bench.client, subject)).toBe(1);
  });

  it('leaves no receipt when the handler fails, so that the next delivery works', async () => {
    const subject = randomUUID();
    const id = await bench.send(countOne, { subject });
    const failing = bench.runner({
      ...counting(),
      handle: async (tx, payload: { subject: string }) => {
        await counting().handle(tx, payload, { id, actorId: null, createdAt: new Date() });
        throw new Error('after the work, before COMMIT');
      },
    });
    await expect(failing.run(id, false)).rejects.toThrow('after the work, before COMMIT');
    expect([await counted(bench.client, subject), await receipts(id), await failure(id)]).toEqual([0, 0, null]);
    await bench.runner(counting()).run(id, false);
    expect([await counted(bench.client, subject), await receipts(id)]).toEqual([1, 1]);
  });

  it('takes a message off the list of failures when it works after all', async () => {
    const id = await bench.send(countOne, { subject: randomUUID() });
    const failing = bench.runner(counting(async () => Promise.reject(new Error('not today'))));
    await expect(failing.run(id, true)).rejects.toThrow('not today');
    expect(await failure(id)).toMatchObject({ error: 'Error: not today' });
    await bench.runner(counting()).run(id, false);
    expect(await failure(id)).toBeNull();
  });

  it('lists a message of another version, and asks for no retry', async () => {
    const subject = randomUUID();
    const id = await bench.send(defineJob({ ...countOne, version: 3 }), { subject });
    await expect(bench.runner(counting()).run(id, false)).rejects.toThrow(NoRetry);
    expect(await failure(id)).toMatchObject({
      job: 'test.count-one',
      payload: { subject },
      error: 'Version 3 was sent, the handler knows version 2.',
    });
    expect([await counted(bench.client, subject), await receipts(id)]).toEqual([0, 0]);
    // Delivered again it is not listed twice.
    await expect(bench.runner(counting()).run(id, false)).rejects.toThrow(NoRetry);
    expect(await bench.client.jobFailure.count({ where: { messageId: id } })).toBe(1);
  });

  it('lists a message nobody handles, one whose payload is not of its schema, and one that is not there', async () => {
    const runner = bench.runner(counting());
    const stray = await bench.send(defineJob({ ...countOne, name: 'test.unknown' }), { subject: randomUUID() });
    await expect(runner.run(stray, false)).rejects.toThrow(NoRetry);
    expect((await failure(stray))?.error).toBe('No handler is called test.unknown.');

    const odd = await bench.send(defineJob({ ...countOne, payload: z.strictObject({ subject: z.string() }) }), {
      subject: 'no uuid',
    });
    await expect(runner.run(odd, false)).rejects.toThrow(NoRetry);
    expect((await failure(odd))?.error).toContain('The payload is not of its schema');

    const nowhere = randomUUID();
    await expect(runner.run(nowhere, false)).rejects.toThrow(NoRetry);
    expect(await failure(nowhere)).toMatchObject({ job: 'unknown', error: 'The outbox has no such message.' });
  });

  it('does not list a message that has its receipt', async () => {
    const id = await bench.send(countOne, { subject: randomUUID() });
    const runner = bench.runner(counting());
    await runner.run(id, false);
    await runner.abandon(id, 'its process died each time');
    expect(await failure(id)).toBeNull();
  });
});
