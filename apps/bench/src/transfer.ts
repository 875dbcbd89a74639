import { execFile, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import pg from 'pg';
import { v7 as uuid } from 'uuid';
import { type Viewer } from '../../../libs/kernel/index.js';
import { Clock } from '../../../libs/platform/clock.js';
import { type Config } from '../../../libs/platform/config/index.js';
import { AcceptTransfer, OfferTransfer, ReceiveTransfer, SendTransfer } from '../../../libs/transfer/index.js';
import { makeHerd } from './herd.js';
import { type Member, Registry, toPedigreeAnimals } from './registry.js';
import { inline, momentOf, recordStatements, renameIds, type Statement } from './statements.js';
import { printNote, printTable, ratio, whole } from './table.js';
import { timedAsync } from './timing.js';

const WRITERS = 4;
const TRANSFERS_A_WRITER = 60;

/** A giver and a receiver, the animals still to be handed over, and how one hand-over reads in SQL. */
type Lane = {
  giver: Member;
  receiver: Member;
  animals: string[];
  recorded: { rows: string[]; startedAt: number; statements: Statement[] };
};

/** One animal from offer to receipt, through the use cases, against the same statements without the application. */
export async function benchTransfer(config: Config): Promise<void> {
  const registry = await Registry.open(config);
  try {
    const lanes = await prepareLanes(registry);
    const total = WRITERS * TRANSFERS_A_WRITER;
    const runs: [string, number][] = [];
    runs.push(['use cases', await measured(registry, () => throughUseCases(registry, lanes))]);
    runs.push([
      'same statements, pg (Node)',
      await measured(registry, () => throughPg(config.databaseUrl, lanes, registry)),
    ]);
    const pgbench = await preparePgbench(registry, lanes);
    if (pgbench !== null) {
      runs.push(['same statements, pgbench', await measured(registry, () => pgbench.run(config.databaseUrl))]);
      pgbench.remove();
    }
    const perSecond = (ms: number): number => (total * 1000) / ms;
    const [own] = runs.map(([, ms]) => perSecond(ms));
    printTable(
      `Transfer, offered to received: ${total} transfers, ${WRITERS} writers`,
      ['', 'transfers/s', 'statements/s', 'use cases : this'],
      runs.map(([name, ms]) => [
        name,
        perSecond(ms).toFixed(1),
        whole(perSecond(ms) * (lanes[0]?.recorded.statements.length ?? 0)),
        ratio((own ?? NaN) / perSecond(ms)),
      ]),
    );
    const count = lanes[0]?.recorded.statements.length;
    printNote(
      `A transfer is 4 transactions, ${count} statements with BEGIN and COMMIT. They were recorded once for each pair`,
    );
    printNote(
      'of keepers and are repeated with the ids of other animals; afterwards every transfer is in the table as received.',
    );
    if (pgbench === null) printNote('pgbench is not on the PATH: its line is left out.');
  } finally {
    await registry.close();
  }
}

async function prepareLanes(registry: Registry): Promise<Lane[]> {
  const members = await registry.makeClub('transfers', WRITERS * 2);
  // Founders only: one animal a family, so that they go to the keepers in turn.
  const size = members.length * (3 * TRANSFERS_A_WRITER + 2);
  const herd = makeHerd(size, 3);
  herd.sire.fill(-1);
  herd.dam.fill(-1);
  await registry.register('transfers', 'Testudo transferenda', toPedigreeAnimals(herd, size, 'T'));
  const lanes: Lane[] = [];
  for (let i = 0; i < WRITERS; i++) {
    const [giver, receiver] = [members[2 * i], members[2 * i + 1]];
    if (giver === undefined || receiver === undefined) throw new RangeError('Too few keepers.');
    const animals = await registry.animalsOf(giver);
    const [warm, animalId] = animals.splice(0, 2);
    if (warm === undefined || animalId === undefined) throw new RangeError('Too few animals.');
    // The first arrival of a keeper opens the arrival quarantine, the others join it: what is recorded is the usual case.
    await handOver(registry, { giver, receiver }, warm);
    const rows = await rowsOf(registry, animalId);
    const startedAt = Date.now();
    const statements = await recordStatements(() => handOver(registry, { giver, receiver }, animalId));
    lanes.push({ giver, receiver, animals, recorded: { rows, startedAt, statements } });
  }
  return lanes;
}

function viewerOf({ accountId, keeperId }: Member): Viewer {
  return { accountId, keepers: [{ keeperId, role: 'owner' }], clubIds: [], offices: [], requestId: 'bench' };
}

async function handOver(registry: Registry, { giver, receiver }: Pick<Lane, 'giver' | 'receiver'>, animalId: string) {
  const today = registry.get(Clock).today();
  const [from, to] = [viewerOf(giver), viewerOf(receiver)];
  const { transferId } = await registry.get(OfferTransfer).execute(from, {
    fromKeeperId: giver.keeperId,
    toKeeperId: receiver.keeperId,
    kind: 'gift',
    items: [{ animalId }],
  });
  await registry.get(AcceptTransfer).execute(to, { transferId });
  await registry.get(SendTransfer).execute(from, { transferId, sentOn: today });
  await registry.get(ReceiveTransfer).execute(to, {
    transferId,
    receivedOn: today,
    items: [{ animalId, arrivals: [{ state: 'well', count: 1 }] }],
  });
}

async function throughUseCases(registry: Registry, lanes: readonly Lane[]): Promise<void> {
  await Promise.all(
    lanes.map(async (lane) => {
      for (const animalId of lane.animals.splice(0, TRANSFERS_A_WRITER)) await handOver(registry, lane, animalId);
    }),
  );
}

/** Ids of the rows a registered animal has before any hand-over, in a fixed order. */
async function rowsOf(registry: Registry, animalId: string): Promise<string[]> {
  const { client } = registry;
  const where = { animalId };
  const custody = await client.custody.findMany({ where, orderBy: { validFrom: 'asc' }, take: 1 });
  const ownership = await client.ownership.findMany({
    where,
    orderBy: { validFrom: 'asc' },
    take: 1,
    include: { shares: true },
  });
  const access = await client.animalAccess.findMany({
    where: { ...where, relation: { in: ['holder', 'owner'] } },
    orderBy: [{ id: 'asc' }],
    take: 2,
  });
  const byRelation = access.toSorted((a, b) => (a.relation < b.relation ? -1 : 1));
  return [animalId, ...custody, ...ownership, ...(ownership[0]?.shares ?? []), ...byRelation].map((row) =>
    typeof row === 'string' ? row : row.id,
  );
}

/** The recorded hand-over of a lane for other animals: rows that were made then get new ids, the keepers' own stay. */
async function replays(registry: Registry, lane: Lane): Promise<Statement[][]> {
  const { rows, startedAt, statements } = lane.recorded;
  const scripts: Statement[][] = [];
  for (const other of lane.animals.splice(0, TRANSFERS_A_WRITER)) {
    const now = await rowsOf(registry, other);
    const names = new Map(rows.map((id, i) => [id, now[i] ?? id]));
    scripts.push(
      renameIds(statements, (id) => {
        const known = names.get(id) ?? (momentOf(id) >= startedAt ? uuid() : id);
        names.set(id, known);
        return known;
      }),
    );
  }
  return scripts;
}

async function throughPg(databaseUrl: string, lanes: readonly Lane[], registry: Registry): Promise<number> {
  const scripts = await Promise.all(lanes.map((lane) => replays(registry, lane)));
  const clients = await Promise.all(
    scripts.map(async () => {
      const client = new pg.Client({ connectionString: databaseUrl });
      await client.connect();
      return client;
    }),
  );
  const [, ms] = await timedAsync(() =>
    Promise.all(
      clients.map(async (client, i) => {
        for (const script of scripts[i] ?? [])
          for (const { text, values } of script) await client.query({ text, values: [...values] });
      }),
    ),
  );
  await Promise.all(clients.map((client) => client.end()));
  return ms;
}

/** One script a writer with the values written in, run by one pgbench each; null when there is no pgbench. */
async function preparePgbench(registry: Registry, lanes: readonly Lane[]) {
  if (spawnSync('pgbench', ['--version']).status !== 0) return null;
  const folder = mkdtempSync(join(tmpdir(), 'kithbook-bench-'));
  const files: string[] = [];
  for (const [i, lane] of lanes.entries()) {
    const file = join(folder, `writer-${i}.sql`);
    writeFileSync(file, (await replays(registry, lane)).flat().map(inline).join('\n'), { mode: 0o600 });
    files.push(file);
  }
  const run = async (databaseUrl: string): Promise<number> => {
    const { hostname, port, username, password, pathname } = new URL(databaseUrl);
    const env = {
      ...process.env,
      PGHOST: hostname,
      PGPORT: port || '5432',
      PGUSER: decodeURIComponent(username),
      PGPASSWORD: decodeURIComponent(password),
      PGDATABASE: pathname.slice(1),
    };
    const outputs = await Promise.all(
      files.map((file) => promisify(execFile)('pgbench', ['-n', '-c', '1', '-t', '1', '-f', file], { env })),
    );
    // Its own figure: reading a long script takes pgbench seconds before the first statement.
    return Math.max(...outputs.map(({ stdout }) => Number(/latency average = ([\d.]+) ms/.exec(stdout)?.[1])));
  };
  return { run, remove: () => rmSync(folder, { recursive: true }) };
}

/** Milliseconds of a run, its own where it says so; throws unless exactly its transfers were received. */
async function measured(registry: Registry, run: () => Promise<number | void>): Promise<number> {
  const count = () => registry.client.transfer.count({ where: { state: 'received' } });
  const before = await count();
  const [own, ms] = await timedAsync(run);
  const done = (await count()) - before;
  if (done !== WRITERS * TRANSFERS_A_WRITER) throw new Error(`${done} transfers were received in a run.`);
  return own ?? ms;
}
