import { randomBytes } from 'node:crypto';
import { setMaxListeners } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { createPrismaClient, type PrismaClient } from '../../libs/platform/prisma/index.js';
import { JobQueue, type QueuePlace } from '../../libs/platform/queue/index.js';
import { wipeRedis } from '../support/wipe-redis.js';
import { ApiClient } from './api-client.js';
import { CommitWatch, named } from './commit-watch.js';
import { countRun, type FaultCounts, findViolations, isDrained, type Violation } from './fault-checks.js';
import { buildFaultWorld, watchTables } from './fault-world.js';
import { HandOvers } from './hand-overs.js';
import { randomFrom } from './random.js';
import { Victim } from './victim.js';

/** `seconds` of work under kills; the start before and the drain after come on top. */
export type FaultSettings = { readonly redisUrl: string | undefined; readonly seconds: number; readonly seed: number };

/** What a run did and found. */
export type FaultReport = FaultCounts & {
  readonly seed: number;
  readonly kills: Readonly<Record<string, number>>;
  readonly retries: number;
  readonly violations: readonly Violation[];
  readonly complaints: readonly string[];
};

const WORKERS = 2;
/** How long a process lives once it is ready, in times its own start: at most. So a busy machine gives it longer. */
const LIFE = 2.5;
/** Share of processes that do not live to be ready. */
const STILLBORN = 0.15;
/** Share of processes that die right after one of their next commits. */
const AT_COMMIT = 0.6;
const NEXT_COMMITS = 8;
/** What a run must have seen to count. Kills deliver some messages twice by chance, and `deliverAgain` these on purpose. */
export const ENOUGH = { kills: 6, transfers: 10, absorbed: 5 };
/** A run goes on, up to this many seconds more, until it has seen enough: a busy machine starts processes slowly. */
const OVERTIME = 180;
/** Jobs of a killed worker come back when their lock has run out and two checks have passed: about 20 seconds. */
const DRAIN_PATIENCE = 90_000;

/** Milliseconds a run takes at the most, for the timeout of a test. */
export function longestRun(seconds: number): number {
  return (seconds + OVERTIME + 90) * 1_000 + DRAIN_PATIENCE;
}

/**
 * Lets an API and two workers work on a server of their own while clients hand animals over, kills them with SIGKILL at
 * moments the seed decides, then lets the rest be done in peace and looks at what is in the tables.
 */
export async function runFaults(settings: FaultSettings): Promise<FaultReport> {
  const folder = mkdtempSync(join(tmpdir(), 'kithbook-fault-'));
  const postgres = new Victim({
    name: 'postgres',
    script: 'tests/fault/postgres.mjs',
    env: passOn('TMPDIR', 'HOME', 'LANG'),
  });
  try {
    postgres.start();
    const databaseUrl = await postgres.ready();
    const client = createPrismaClient(databaseUrl, 2);
    try {
      return await runOn(client, databaseUrl, folder, settings);
    } finally {
      await client.$disconnect();
      if (settings.redisUrl !== undefined) await wipeRedis(settings.redisUrl, databaseUrl);
    }
  } finally {
    await postgres.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}

async function runOn(
  client: PrismaClient,
  databaseUrl: string,
  folder: string,
  settings: FaultSettings,
): Promise<FaultReport> {
  const secretFile = join(folder, 'secret');
  writeFileSync(secretFile, randomBytes(32).toString('hex'));
  const port = await freePort();
  const victim = (name: string, script: string) => {
    const env = {
      PORT: String(port),
      DATABASE_URL: named(databaseUrl, name),
      AUTH_SECRET_FILE: secretFile,
      DATA_DIR: folder,
      ...(settings.redisUrl === undefined ? {} : { REDIS_URL: settings.redisUrl }),
    };
    return new Victim({ name, script, env });
  };
  const api = victim('api', 'dist/apps/api/src/main.js');
  const workers = Array.from({ length: WORKERS }, (_, index) =>
    victim(`worker-${index + 1}`, 'dist/apps/worker/src/main.js'),
  );
  const victims = [api, ...workers];
  const apiClient = new ApiClient(`http://127.0.0.1:${port}/graphql`);
  const watch = new CommitWatch(databaseUrl);
  try {
    api.start();
    await api.ready();
    await watchTables(client);
    const handOvers = new HandOvers(apiClient, await buildFaultWorld(client, apiClient), randomFrom(settings.seed - 1));
    await watch.start();
    for (const worker of workers) worker.start();
    await underKills(client, victims, handOvers, watch, settings);
    await drain(client);
    await deliverAgain(client, { databaseUrl, redisUrl: settings.redisUrl });
    return await report(client, victims, handOvers, apiClient.retries, settings.seed);
  } finally {
    await Promise.all([watch.close(), ...victims.map((one) => one.stop())]);
  }
}

async function report(
  client: PrismaClient,
  victims: readonly Victim[],
  handOvers: HandOvers,
  retries: number,
  seed: number,
): Promise<FaultReport> {
  const { offered, received, complaints } = handOvers;
  const counts = await countRun(client);
  const violations = await findViolations(client);
  for (const [what, ids] of Object.entries({ offered, received })) {
    if (new Set(ids).size === ids.length && ids.length === counts.transfers) continue;
    violations.push({
      what: `answers "${what}" that are not one a committed transfer (${counts.transfers})`,
      count: ids.length,
    });
  }
  for (const { name, falls, lastWords } of victims) {
    if (falls > 0) violations.push({ what: `times ${name} ended by itself: ${lastWords}`, count: falls });
  }
  const kills = Object.fromEntries(victims.map((victim) => [victim.name, victim.kills]));
  return { seed, kills, ...counts, retries, violations, complaints };
}

/** Hands animals over while every process is killed again and again, each at moments of its own; then in peace to the end. */
async function underKills(
  client: PrismaClient,
  victims: readonly Victim[],
  handOvers: HandOvers,
  watch: CommitWatch,
  settings: FaultSettings,
): Promise<void> {
  const end = Date.now() + settings.seconds * 1_000;
  const last = end + OVERTIME * 1_000;
  const over = new AbortController();
  setMaxListeners(0, over.signal);
  const killers = victims.map((victim, index) => haunt(victim, randomFrom(settings.seed + index), watch, over.signal));
  const clients = handOvers.run(() => over.signal.aborted, AbortSignal.timeout(last + DRAIN_PATIENCE - Date.now()));
  while (Date.now() < end || (Date.now() < last && !(await hasSeenEnough(client, victims)))) await sleep(500);
  over.abort();
  await Promise.all([clients, ...killers]);
}

async function hasSeenEnough(client: PrismaClient, victims: readonly Victim[]): Promise<boolean> {
  const { transfers } = await countRun(client);
  const kills = victims.reduce((sum, victim) => sum + victim.kills, 0);
  return kills >= ENOUGH.kills && transfers >= ENOUGH.transfers;
}

async function haunt(victim: Victim, random: () => number, watch: CommitWatch, over: AbortSignal): Promise<void> {
  const pause = (milliseconds: number) => sleep(milliseconds, undefined, { signal: over }).catch(() => undefined);
  while (!over.aborted) {
    if (random() < STILLBORN) await pause(random() * 2_000);
    else {
      const spawned = Date.now();
      await victim.ready().catch(() => undefined); // one that ended by itself is counted as such
      const life = pause((Date.now() - spawned) * LIFE * random());
      if (random() < AT_COMMIT)
        await Promise.race([life, commits(victim, watch, 1 + Math.floor(random() * NEXT_COMMITS), over)]);
      else await life;
    }
    if (!over.aborted) await victim.killAndRestart();
  }
}

async function commits(victim: Victim, watch: CommitWatch, count: number, over: AbortSignal): Promise<void> {
  for (let seen = 0; seen < count && !over.aborted; seen += 1)
    await watch.next(victim.name, over).catch(() => undefined);
}

/** Until every message has its receipt, or patience ends: what is missing is a violation then. */
async function drain(client: PrismaClient): Promise<void> {
  const giveUp = Date.now() + DRAIN_PATIENCE;
  while (Date.now() < giveUp && !(await isDrained(client))) await sleep(200);
}

/**
 * Hands messages that are done with to the queue once more, as a relay does that died between `add` and COMMIT when the
 * queue no longer has the id. Without their receipts they would be done twice.
 */
async function deliverAgain(client: PrismaClient, place: QueuePlace): Promise<void> {
  const done = await client.jobReceipt.findMany({ orderBy: { messageId: 'desc' }, take: ENOUGH.absorbed });
  const messages = await client.outboxMessage.findMany({ where: { id: { in: done.map((row) => row.messageId) } } });
  const { absorbed } = await countRun(client);
  const queue = new JobQueue(place, () => undefined);
  try {
    await queue.ready();
    for (const { id } of messages) await queue.forget(id);
    await queue.add(messages.map(({ id, job }) => ({ id, job, attempts: 1 })));
    const giveUp = Date.now() + DRAIN_PATIENCE;
    while (Date.now() < giveUp && (await countRun(client)).absorbed < absorbed + messages.length) await sleep(200);
  } finally {
    await queue.close();
  }
}

/** A port nobody listens on just now. */
export async function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const probe = createServer().on('error', reject);
    probe.listen(0, '127.0.0.1', () => {
      const address = probe.address();
      probe.close(() =>
        typeof address === 'object' && address !== null ? resolve(address.port) : reject(new Error('no port')),
      );
    });
  });
}

function passOn(...names: string[]): Record<string, string> {
  return Object.fromEntries(
    names.flatMap((name) => (process.env[name] === undefined ? [] : [[name, process.env[name]]])),
  );
}
