import { randomUUID } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it, jest } from '@jest/globals';
import { scheduledTasks } from '../../apps/worker/src/schedules.js';
import { decide } from '../../libs/kernel/index.js';
import { NoticeStore, sendDigests, SendDigestsHandler } from '../../libs/membership/index.js';
import { Schedules } from '../../libs/platform/jobs/index.js';
import { Relay } from '../../libs/platform/outbox/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { JobConsumer } from '../../libs/platform/queue/index.js';
import { eventually, type JobBench, openBench } from './job-bench.js';
import { keeper } from './world.js';

const redisUrl = process.env['TEST_REDIS_URL'];

/** Only the clock stands still; what waits does so in real time. */
const ALL_BUT_DATE: NonNullable<
  Extract<Parameters<typeof jest.useFakeTimers>[0], { doNotFake?: unknown }>['doNotFake']
> = [
  'hrtime',
  'nextTick',
  'performance',
  'queueMicrotask',
  'setImmediate',
  'clearImmediate',
  'setInterval',
  'clearInterval',
  'setTimeout',
  'clearTimeout',
];

/** The clock of this process, registry and queue alike, which stands where it is set. */
function standAt(moment: string): void {
  jest.setSystemTime(new Date(moment));
}

/** Milliseconds within which the queue looks several times what is due, with two seconds to go. */
const SEVERAL_LOOKS = 5_000;

function dailyMailSuite(backend: string | undefined): void {
  let bench: JobBench;
  let schedules: Schedules;
  let relay: Relay;
  let consumer: JobConsumer;
  beforeEach(async () => {
    // Europe changes its clocks on this night: the timetable is in UTC and does not.
    jest.useFakeTimers({ now: new Date('2025-03-30T04:30:00Z'), doNotFake: ALL_BUT_DATE });
    bench = await openBench(backend);
    const hear = (error: Error) => void bench.trouble.push(error.message);
    const digests = scheduledTasks(bench.client, bench.queue).filter(({ name }) => name === 'send-digests');
    schedules = new Schedules(bench.queue, digests, hear);
    const runner = bench.runner(new SendDigestsHandler());
    consumer = new JobConsumer(bench.place, {
      message: ({ messageId, lastAttempt }) => runner.run(messageId, lastAttempt),
      schedule: (tick) => schedules.run(tick),
      abandoned: (messageId, reason) => runner.abandon(messageId, reason),
      trouble: hear,
    });
    relay = new Relay(bench.client, bench.queue, () => sendDigests.attempts, hear);
    relay.start();
  });
  afterEach(async () => {
    schedules.close();
    await Promise.all([relay.close(), consumer.close()]);
    await bench.close();
    jest.useRealTimers();
  });

  const runs = async () => {
    const messages = await bench.client.outboxMessage.findMany({
      where: { job: sendDigests.name },
      orderBy: { createdAt: 'asc' },
    });
    return messages.map(({ payload, createdAt }) => [(payload as { day: string }).day, createdAt.toISOString()]);
  };
  const receipts = () => bench.client.jobReceipt.count();

  it('is written at seven o’clock UTC, not before, and once', async () => {
    await schedules.start();
    // Takes the first job shortly before seven: how long to wait for the next it reckons by the clock as it is then.
    standAt('2025-03-30T06:59:58Z');
    await consumer.ready();
    consumer.start();
    // What the start has asked for: the day before, of which nothing waits.
    const before = ['2025-03-29', '2025-03-30T04:30:00.000Z'];
    await eventually(async () => (await receipts()) === 1);
    expect(await runs()).toEqual([before]);

    const accountId = randomUUID();
    await bench.client.account.create({
      data: {
        id: accountId,
        email: `${accountId}@example.org`,
        passwordHash: 'none',
        createdAt: new Date(),
        mailChoices: { create: { group: 'transfers', pace: 'daily' } },
        members: { create: { keeperId: await keeper(bench.client), role: 'owner', since: new Date() } },
      },
      include: { members: true },
    });
    const { keeperId } = await bench.client.keeperMember.findFirstOrThrow({ where: { accountId } });
    const notices = new NoticeStore({ client: bench.client } as Database);
    await bench.uow.writeAsServer(null, async (tx) => {
      const notice = { keeperId, kind: 'transfer_offered', body: {}, dueOn: null, dedupeKey: randomUUID() };
      return decide(await notices.write(tx, notice));
    });
    const mails = () => bench.client.mailMessage.findMany({ where: { accountId }, select: { subject: true } });

    await sleep(SEVERAL_LOOKS);
    expect([await runs(), await mails()]).toEqual([[before], []]);

    standAt('2025-03-30T07:00:00Z');
    await eventually(async () => (await receipts()) === 2);
    const that = ['2025-03-30', '2025-03-30T07:00:00.000Z'];
    expect(await runs()).toEqual([before, that]);
    expect(await mails()).toEqual([{ subject: 'Kithbook: one notice since your last daily mail' }]);

    // A worker that starts later that day finds it done.
    standAt('2025-03-30T07:05:00Z');
    await schedules.start();
    expect(await runs()).toEqual([before, that]);
    expect(bench.trouble).toEqual([]);
  });
}

describe('the daily mail with the queue on PostgreSQL', () => dailyMailSuite(undefined));
if (redisUrl) describe('the daily mail with the queue on Redis', () => dailyMailSuite(redisUrl));
else describe.skip('the daily mail with the queue on Redis: TEST_REDIS_URL not given', () => dailyMailSuite(undefined));
