import { randomBytes } from 'node:crypto';
import { setMaxListeners } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { createPrismaClient, type PrismaClient } from '../../libs/platform/prisma/index.js';
import { CommitWatch, named } from './commit-watch.js';
import { countRun, findViolations, isDrained, type Violation } from './fault-checks.js';
import { buildFaultWorld } from './fault-world.js';
import { randomFrom } from './random.js';
import { TransferDriver } from './transfer-driver.js';
import { Victim } from './victim.js';

/** `seconds` of work under kills; the start before and the drain after come on top. */
export type FaultSettings = { readonly redisUrl: string | undefined; readonly seconds: number; readonly seed: number };

/** What a run did and found. */
export type FaultReport = {
  readonly seed: number;
  readonly kills: Readonly<Record<string, number>>;
  readonly messages: number;
  /** Deliveries that found the receipt and did nothing. */
  readonly absorbed: number;
  readonly retries: number;
  readonly outcomes: number;
  readonly violations: readonly Violation[];
  readonly complaints: readonly string[];
};

const WORKERS = 2;
/** How long a process lives once it is ready, in times its own start: at most. So a busy machine gives it longer. */
const LIFE = 4;
/** Share of processes that do not live to be ready. */
const STILLBORN = 0.15;
/** Share of processes that die right after one of their next commits. */
const AT_COMMIT = 0.6;
const NEXT_COMMITS = 12;
/** A run goes on, up to this many seconds more, until it has seen enough: a busy machine starts processes slowly. */
const OVERTIME = 180;
/** What a run must have seen to count. */
export const ENOUGH = { kills: 10, messages: 60 };
/** Jobs of a killed worker come back when their lock has run out and two checks have passed: about 20 seconds. */
const DRAIN_PATIENCE = 90_000;
const STEP = 20;

/** Milliseconds a run takes at the most, for the timeout of a test. */
export function longestRun(seconds: number): number {
  return (seconds + OVERTIME + 60) * 1_000 + DRAIN_PATIENCE;
}

/**
 * Lets a writer and two workers work on a server of their own, kills one of them with SIGKILL at moments the seed decides,
 * then lets the rest be done in peace and looks at what is in the tables.
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
  const world = await buildFaultWorld(client);
  const secretFile = join(folder, 'secret');
  writeFileSync(secretFile, randomBytes(32).toString('hex'));
  const envOf = (name: string) => ({
    DATABASE_URL: named(databaseUrl, name),
    AUTH_SECRET_FILE: secretFile,
    DATA_DIR: folder,
    ...(settings.redisUrl === undefined ? {} : { REDIS_URL: settings.redisUrl }),
  });
  const driver: TransferDriver = new TransferDriver(world, randomFrom(settings.seed - 1), (request) =>
    writer.send(request),
  );
  const hear = (message: unknown) => driver.hear(message);
  const writer = new Victim({ name: 'writer', script: 'tests/fault/writer.mjs', env: envOf('writer'), listener: hear });
  const workers = Array.from({ length: WORKERS }, (_, index) => {
    const name = `worker-${index + 1}`;
    return new Victim({ name, script: 'dist/apps/worker/src/main.js', env: envOf(name) });
  });
  const watch = new CommitWatch(databaseUrl);
  const victims = [writer, ...workers];
  try {
    await watch.start();
    for (const victim of victims) victim.start();
    await underKills(victims, driver, watch, settings);
    await drain(client, driver);
  } finally {
    await Promise.all([watch.close(), ...victims.map((victim) => victim.stop())]);
  }
  const { messages, deliveries } = await countRun(client);
  const violations = await findViolations(client);
  if (new Set(driver.outcomes.values()).size !== messages || driver.outcomes.size !== messages) {
    violations.push({
      what: `answers that are not one a committed message (${messages} messages)`,
      count: driver.outcomes.size,
    });
  }
  for (const victim of victims) {
    if (victim.falls > 0)
      violations.push({ what: `times ${victim.name} ended by itself: ${victim.lastWords}`, count: victim.falls });
  }
  return {
    seed: settings.seed,
    kills: Object.fromEntries(victims.map(({ name, kills }) => [name, kills])),
    messages,
    absorbed: deliveries - messages,
    retries: driver.retries,
    outcomes: driver.outcomes.size,
    violations,
    complaints: driver.complaints,
  };
}

/** Drives the writer while every process is killed over and over, each at moments of its own. */
async function underKills(
  victims: readonly Victim[],
  driver: TransferDriver,
  watch: CommitWatch,
  settings: FaultSettings,
): Promise<void> {
  const end = Date.now() + settings.seconds * 1_000;
  const last = end + OVERTIME * 1_000;
  const over = new AbortController();
  setMaxListeners(0, over.signal);
  const killers = victims.map((victim, index) => haunt(victim, randomFrom(settings.seed + index), watch, over.signal));
  for (;;) {
    const kills = victims.reduce((sum, victim) => sum + victim.kills, 0);
    const enough = kills >= ENOUGH.kills && driver.outcomes.size >= ENOUGH.messages;
    if (Date.now() >= (enough ? end : last)) break;
    driver.step(true);
    await sleep(STEP);
  }
  over.abort();
  await Promise.all(killers);
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

/** Until every request has its answer and every message its receipt, or patience ends: what is missing is a violation then. */
async function drain(client: PrismaClient, driver: TransferDriver): Promise<void> {
  const giveUp = Date.now() + DRAIN_PATIENCE;
  while (Date.now() < giveUp) {
    driver.step(false);
    if (driver.unanswered === 0 && (await isDrained(client))) return;
    await sleep(STEP * 10);
  }
}

function passOn(...names: string[]): Record<string, string> {
  return Object.fromEntries(
    names.flatMap((name) => (process.env[name] === undefined ? [] : [[name, process.env[name]]])),
  );
}
