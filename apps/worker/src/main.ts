import 'reflect-metadata';
import { type INestApplicationContext } from '@nestjs/common';
import { NestFactory } from '@nestjs/core';
import { ConfigError, readConfig } from '../../../libs/platform/config/index.js';
import { Database } from '../../../libs/platform/prisma/index.js';
import { WorkerModule } from './worker.module.js';
import { WorkerRuntime } from './worker-runtime.js';

/** Milliseconds the database and the queue have to answer at the start. */
const PATIENCE = 10_000;

/** A start that failed for a reason the operator can mend; the message is one line with the remedy. */
class StartError extends Error {}

async function main(): Promise<void> {
  const config = readConfig(process.env);
  const app = await NestFactory.createApplicationContext(WorkerModule.with(config), {
    logger: ['warn', 'error', 'fatal'],
    abortOnError: false,
  });
  stopOnRequest(app);
  await requireDatabase(app.get(Database), config.databaseUrl);
  await startRuntime(app.get(WorkerRuntime), config.redisUrl ?? config.databaseUrl);
  console.log('worker ready');
}

async function requireDatabase(database: Database, url: string): Promise<void> {
  try {
    await within(database.client.outboxMessage.findFirst({ select: { id: true } }));
  } catch (error) {
    const missing = (error as { code?: string }).code === 'P2021';
    throw new StartError(
      missing
        ? `the database at ${hostOf(url)} has no tables of this registry: run the migrations first.`
        : `no database at ${hostOf(url)} (${lastLineOf(error)}): check DATABASE_URL and that it runs.`,
    );
  }
}

async function startRuntime(runtime: WorkerRuntime, url: string): Promise<void> {
  try {
    await within(runtime.start());
  } catch (error) {
    throw new StartError(
      `no job queue at ${hostOf(url)} (${runtime.trouble || lastLineOf(error)}): check REDIS_URL or DATABASE_URL and that it runs.`,
    );
  }
}

async function within<T>(work: Promise<T>): Promise<T> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new Error(`no answer within ${PATIENCE / 1000} s`)), PATIENCE);
  });
  return Promise.race([work, late]).finally(() => clearTimeout(timer));
}

/** Finishes or abandons the running job, closes queue and database, then ends. A closed channel means the launcher is gone. */
function stopOnRequest(app: INestApplicationContext): void {
  let stopping = false;
  const stop = () => {
    if (stopping) return;
    stopping = true;
    app.close().then(
      () => process.exit(0),
      (error: Error) => fail(error),
    );
  };
  process.on('SIGTERM', stop);
  process.on('SIGINT', stop);
  process.on('disconnect', stop);
}

function hostOf(url: string): string {
  const { hostname, port, protocol } = new URL(url);
  return `${hostname}:${port || (protocol.startsWith('redis') ? '6379' : '5432')}`;
}

function lastLineOf(error: unknown): string {
  const { message = '', code = '' } = error as { message?: string; code?: string };
  return message.trim().split('\n').at(-1) || code;
}

function fail(error: Error): void {
  const expected = error instanceof StartError || error instanceof ConfigError;
  console.error(expected ? `kithbook worker: ${error.message}` : error);
  process.exit(1);
}

main().catch(fail);
