import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { decide } from '../../libs/kernel/index.js';
import { reopenLost, SILENCE_MINUTES } from '../../libs/platform/outbox/index.js';
import { counted, counting, countOne, eventually, type JobBench, openBench } from './job-bench.js';

/** What holds of relay, queue, consumer and receipts on every backend. Call inside a `describe`. */
export function queueSuite(redisUrl: string | undefined): void {
  let bench: JobBench;
  beforeAll(async () => {
    bench = await openBench(redisUrl);
  });
  afterAll(async () => bench?.close());

  const receipts = (messageId: string) => bench.client.jobReceipt.count({ where: { messageId } });
  const message = (id: string) => bench.client.outboxMessage.findUniqueOrThrow({ where: { id } });
  const later = (minutes: number) => new Date(Date.now() + minutes * 60_000);

  it('brings a committed message to its handler once', async () => {
    const subject = randomUUID();
    const id = await bench.send(countOne, { subject });
    expect((await message(id)).dispatchedAt).toBeNull();
    await bench.relay().pass();
    expect((await message(id)).dispatchedAt).not.toBeNull();
    const consumer = bench.consume(bench.runner(counting()));
    await eventually(async () => (await receipts(id)) === 1);
    await consumer.close();
    expect(await counted(bench.client, subject)).toBe(1);
  });

  it('sends nothing for a transaction that rolled back', async () => {
    const subject = randomUUID();
    await expect(
      bench.uow.writeAsServer(null, async (tx) => {
        await tx.outbox.send(countOne, { subject });
        throw new Error('this write fails');
      }),
    ).rejects.toThrow('this write fails');
    expect(await bench.client.outboxMessage.count({ where: { payload: { equals: { subject } } } })).toBe(0);
  });

  it('ignores an id the queue still has, in one batch and across batches', async () => {
    const id = await bench.send(countOne, { subject: randomUUID() });
    const entry = { id, job: countOne.name, attempts: 3 };
    await bench.queue.add([entry, entry]);
    await bench.queue.add([entry]);
    let deliveries = 0;
    const runner = bench.runner(counting());
    const consumer = bench.consume({
      run: async (messageId: string, last: boolean) => {
        if (messageId === id) deliveries += 1;
        await runner.run(messageId, last);
      },
    } as typeof runner);
    await eventually(async () => (await bench.queue.stateOf(id)) === 'finished');
    await bench.queue.add([entry]);
    expect(await bench.queue.stateOf(id)).toBe('finished');
    await consumer.close();
    expect(deliveries).toBe(1);
  });

  it('loses nothing and repeats nothing when the relay dies between add and COMMIT', async () => {
    const subject = randomUUID();
    const id = await bench.send(countOne, { subject });
    const dying = bench.relay({
      add: async (messages) => {
        await bench.queue.add(messages);
        throw new Error('the process was killed here');
      },
    });
    await expect(dying.pass()).rejects.toThrow('the process was killed here');
    expect((await message(id)).dispatchedAt).toBeNull();
    const consumer = bench.consume(bench.runner(counting()));
    await eventually(async () => (await receipts(id)) === 1);
    expect(await bench.relay().pass()).toBeGreaterThan(0);
    expect((await message(id)).dispatchedAt).not.toBeNull();
    // The queue kept the finished job; without it the receipt has to absorb the second delivery.
    await bench.queue.forget(id);
    await bench.queue.add([{ id, job: countOne.name, attempts: 3 }]);
    await eventually(async () => (await bench.queue.stateOf(id)) === 'finished');
    await consumer.close();
    expect(await counted(bench.client, subject)).toBe(1);
    expect(await receipts(id)).toBe(1);
  });

  it('shares the work between relays without handing a message over twice', async () => {
    const requestId = randomUUID();
    await bench.uow.writeAsServer(requestId, async (tx) => {
      for (let sent = 0; sent < 150; sent += 1) await tx.outbox.send(countOne, { subject: randomUUID() });
      return decide(undefined);
    });
    const ids = (await bench.client.outboxMessage.findMany({ where: { requestId } })).map(({ id }) => id);
    const handed: string[] = [];
    const relay = () =>
      bench.relay({
        add: async (messages) => {
          handed.push(...messages.map(({ id }) => id));
          await bench.queue.add(messages);
        },
      });
    const passes = await Promise.all([relay().pass(), relay().pass(), relay().pass()]);
    expect(passes.reduce((sum, count) => sum + count, 0)).toBe(150);
    expect(handed.filter((id) => ids.includes(id)).sort()).toEqual([...ids].sort());
    const consumer = bench.consume(bench.runner(counting()));
    await eventually(async () => (await bench.client.jobReceipt.count({ where: { messageId: { in: ids } } })) === 150);
    await consumer.close();
  });

  it('tries a failing job again, and lists it after the last attempt', async () => {
    const subject = randomUUID();
    const id = await bench.send(countOne, { subject });
    await bench.relay().pass();
    let tries = 0;
    const consumer = bench.consume(
      bench.runner(
        counting(async () => {
          tries += 1;
          throw new Error('the handler cannot do it');
        }),
      ),
    );
    await eventually(async () => (await bench.client.jobFailure.count({ where: { messageId: id } })) === 1);
    await consumer.close();
    expect(tries).toBe(countOne.attempts);
    expect(await bench.client.jobFailure.findUnique({ where: { messageId: id } })).toMatchObject({
      job: countOne.name,
      payload: { subject },
      error: 'Error: the handler cannot do it',
    });
    expect(await receipts(id)).toBe(0);
  });

  it('hands over again what a wiped queue lost, and leaves alone what it still has', async () => {
    const lost = await bench.send(countOne, { subject: randomUUID() });
    await bench.relay().pass();
    await bench.wipe();
    const waiting = await bench.send(countOne, { subject: randomUUID() });
    await bench.relay().pass();
    expect(await bench.queue.stateOf(lost)).toBe('absent');
    expect(await bench.queue.stateOf(waiting)).toBe('pending');

    expect(await reopenLost(bench.client, bench.queue, later(SILENCE_MINUTES - 1))).toBe(0);
    const slot = later(SILENCE_MINUTES + 1);
    expect(await reopenLost(bench.client, bench.queue, slot)).toBe(1);
    expect(await reopenLost(bench.client, bench.queue, slot)).toBe(0);
    expect(await message(lost)).toMatchObject({ dispatchedAt: null, attempts: 1 });
    expect((await message(waiting)).dispatchedAt).not.toBeNull();

    await bench.relay().pass();
    const consumer = bench.consume(bench.runner(counting()));
    await eventually(async () => (await receipts(lost)) === 1 && (await receipts(waiting)) === 1);
    await consumer.close();
    expect(await reopenLost(bench.client, bench.queue, later(60))).toBe(0);
  });

  it('keeps a timetable that can be given again, and ends one', async () => {
    await bench.queue.schedule({ name: 'test-task', pattern: '*/5 * * * *' });
    await bench.queue.schedule({ name: 'test-task', pattern: '*/5 * * * *' });
    expect(await bench.queue.scheduled()).toEqual(['test-task']);
    await bench.queue.unschedule('test-task');
    expect(await bench.queue.scheduled()).toEqual([]);
  });
}
