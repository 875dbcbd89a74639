import { randomUUID } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import { z } from 'zod';
import { decide } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { type AnyJobHandler, type JobHandler, JobRegistry, JobRunner } from '../../libs/platform/jobs/index.js';
import { defineJob, type Job, Relay } from '../../libs/platform/outbox/index.js';
import { createPrismaClient, type PrismaClient, type Tx, UnitOfWork } from '../../libs/platform/prisma/index.js';
import { JobConsumer, JobQueue, type QueuePlace } from '../../libs/platform/queue/index.js';
import { createTestDatabase } from '../support/template-db.js';
import { wipeRedis } from '../support/wipe-redis.js';

/** A job of the tests: each time it is done it adds one row to the ledger, so that done twice is seen. */
export const countOne = defineJob({
  name: 'test.count-one',
  version: 2,
  payload: z.strictObject({ subject: z.uuid() }),
  attempts: 3,
});

/** A database and a queue of its own with the parts of the worker, to be driven step by step. */
export type JobBench = {
  readonly place: QueuePlace;
  readonly client: PrismaClient;
  readonly uow: UnitOfWork;
  readonly queue: JobQueue;
  /** Errors the parts reported. */
  readonly trouble: string[];
  relay(sink?: Pick<JobQueue, 'add'>): Relay;
  runner(...handlers: AnyJobHandler[]): JobRunner;
  /** A running consumer over `runner`; closed with the bench. */
  consume(runner: JobRunner): JobConsumer;
  /** Sends a message of `job` in a transaction of its own; returns its id. */
  send<T>(job: Job<T>, payload: T): Promise<string>;
  /** Forgets everything the queue holds, as a wiped server would. */
  wipe(): Promise<void>;
  close(): Promise<void>;
};

/** Opens a bench on PostgreSQL, or on Redis when its address is given. */
export async function openBench(redisUrl: string | undefined): Promise<JobBench> {
  const database = await createTestDatabase();
  const place = { databaseUrl: database.url, redisUrl };
  const client = createPrismaClient(database.url, 4);
  const uow = new UnitOfWork(client, new Clock());
  const trouble: string[] = [];
  const hear = (error: Error) => void trouble.push(error.message);
  const queue = new JobQueue(place, hear);
  await queue.ready();
  const consumers: JobConsumer[] = [];
  const wipe = async () => {
    if (redisUrl === undefined) await client.$executeRaw`TRUNCATE bullmq.job, bullmq.event, bullmq.scheduler CASCADE`;
    else await wipeRedis(redisUrl, database.url);
  };
  return {
    place,
    client,
    uow,
    queue,
    trouble,
    relay: (sink = queue) => new Relay(client, sink, () => countOne.attempts, hear),
    runner: (...handlers) =>
      new JobRunner(
        client,
        uow,
        new JobRegistry(
          handlers.map(({ job }) => job),
          handlers,
        ),
      ),
    consume: (runner) => {
      const consumer = new JobConsumer(place, {
        message: ({ messageId, lastAttempt }) => runner.run(messageId, lastAttempt),
        schedule: async () => undefined,
        abandoned: (messageId, reason) => runner.abandon(messageId, reason),
        trouble: hear,
      });
      consumers.push(consumer);
      consumer.start();
      return consumer;
    },
    send: async (job, payload) => {
      const requestId = randomUUID();
      await uow.writeAsServer(requestId, async (tx) => {
        await tx.outbox.send(job, payload);
        return decide(undefined);
      });
      const { id } = await client.outboxMessage.findFirstOrThrow({ where: { requestId } });
      return id;
    },
    wipe,
    close: async () => {
      await Promise.all(consumers.map((consumer) => consumer.close()));
      await queue.close();
      if (redisUrl !== undefined) await wipe();
      await client.$disconnect();
      await database.drop();
    },
  };
}

/** A handler of `countOne`: writes one ledger row, after `before` has done what the test wants. */
export function counting(
  before: (tx: Tx, subject: string) => Promise<void> = async () => undefined,
): JobHandler<{ subject: string }> {
  return {
    job: countOne,
    handle: async (tx, { subject }) => {
      await before(tx, subject);
      await tx.db.ledgerEntry.create({
        data: {
          id: randomUUID(),
          at: tx.now,
          action: 'test.counted',
          schemaVersion: 1,
          subjects: [subject],
          body: '{}',
          leafHash: new Uint8Array(32),
        },
      });
    },
  };
}

/** How often `countOne` was done for a subject. */
export async function counted(client: PrismaClient, subject: string): Promise<number> {
  return client.ledgerEntry.count({ where: { action: 'test.counted', subjects: { has: subject } } });
}

/** Waits until `holds` does; throws after `patience` milliseconds. Long, because it only matters on a busy machine. */
export async function eventually(holds: () => Promise<boolean>, patience = 90_000): Promise<void> {
  const giveUp = Date.now() + patience;
  while (!(await holds())) {
    if (Date.now() > giveUp) throw new Error(`Still not so after ${patience} ms.`);
    await sleep(50);
  }
}
