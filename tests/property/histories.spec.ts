import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { commandKinds } from './history-commands.js';
import { beginnings } from './beginnings.js';
import { type Running, type Step } from './history-drafts.js';
import { begin, Model, newAnimal } from './history-model.js';
import { changesBy, readChanges } from './change-tables.js';
import { readShares, sharesBy } from './egg-tables.js';
import { accessOf, bookFaults, findForbidden, readAccess, readEntries, readState, stateOf } from './history-tables.js';
import { type Cast, historyWorld, type HistoryWorld } from './history-world.js';
import { type Entry, replay } from './ledger-replay.js';

/** Histories in a run, and commands drawn for each at most. */
const RUNS = Number(process.env['HISTORY_RUNS'] ?? 60);
const COMMANDS = 60;
/** A failing history is made shorter only when asked for: that may take many minutes. */
const SHRINK = process.env['HISTORY_SHRINK'] !== undefined;
/** Histories that go on at the same time, each in a database of its own: a job that ends offers ends all there are. */
const LANES = SHRINK ? 1 : 4;
/** People that are made at once. */
const BATCH = 25;

let worlds: HistoryWorld[] = [];
const seen = new Map<string, number>();
beforeAll(async () => {
  worlds = await Promise.all(Array.from({ length: Math.min(LANES, RUNS) }, () => historyWorld()));
});
afterAll(() => Promise.all(worlds.map((world) => world.close())));

/** A history of its own people, and everything that must hold once it is over. */
async function live(
  world: HistoryWorld,
  cast: Cast,
  begun: readonly Step[],
  commands: Iterable<fc.AsyncCommand<Model, Running>>,
): Promise<void> {
  const model = new Model();
  world.begin();
  cast.keepers.forEach((keeper, i) => model.roles.set(keeper, new Map([[cast.accounts[i] ?? '', 'owner']])));
  if (cast.minor !== null) model.roles.get(cast.minor)?.set(cast.accounts[3] ?? '', 'guardian');
  const before = cast.stock.map((stock): Entry => {
    const animal = newAnimal(stock.id, stock.kind, stock.count);
    begin(animal, stock.keeper, stock.since);
    model.own(animal, new Map([[stock.keeper, 1]]), stock.since);
    model.animals.set(stock.id, animal);
    const body = { ...stock, animalId: stock.id, keeperId: stock.keeper, parents: [] };
    return { action: 'animal.registered', body: body as unknown as Entry['body'] };
  });
  const running: Running = { world, cast, writes: 0, done: 0, refused: 0, idle: 0 };
  for (const step of begun) await step.run(model, running);
  await fc.asyncModelRun(() => ({ model, real: running }), commands);
  const [animals, transfers] = [[...model.animals.keys()], [...model.transfers.keys()]];
  const clutches = [...model.clutches.keys()];
  const tables = await readState(world.client, animals, transfers, clutches);
  expect(tables).toEqual(stateOf(model));
  expect(await readShares(world.client, clutches)).toEqual(sharesBy(model));
  expect(await readChanges(world.client, animals)).toEqual(changesBy(model));
  expect(await readAccess(world.client, animals)).toEqual(accessOf(model));
  const entries = await readEntries(world.client, [...animals, ...transfers, ...clutches, ...cast.keepers]);
  expect(entries).toHaveLength(running.writes);
  expect(replay([...before, ...entries], cast.minor)).toEqual(tables);
  expect(await bookFaults(world.client, model, cast.keepers)).toEqual([]);
  const members = await world.client.keeperMember.findMany({
    where: { keeperId: { in: [...cast.keepers] }, endedAt: null },
  });
  expect(members.map(({ keeperId, accountId, role }) => `${keeperId} ${accountId} ${role}`).toSorted()).toEqual(
    [...model.roles]
      .flatMap(([keeper, people]) => [...people].map(([id, role]) => `${keeper} ${id} ${role}`))
      .toSorted(),
  );
  for (const { action } of entries) seen.set(action, (seen.get(action) ?? 0) + 1);
  seen.set('done', (seen.get('done') ?? 0) + running.done);
  seen.set('refused', (seen.get('refused') ?? 0) + running.refused);
}

/** One lane of histories, one after the other. */
async function lane(world: HistoryWorld, number: number): Promise<void> {
  const numRuns = Math.ceil((RUNS - number) / worlds.length);
  const waiting: Cast[] = [];
  await fc.assert(
    fc.asyncProperty(
      beginnings,
      fc.commands(commandKinds, { maxCommands: COMMANDS, size: 'max' }),
      async (begun, commands) => {
        if (waiting.length === 0) waiting.push(...(await world.casts(Math.min(BATCH, numRuns))));
        const cast = waiting.pop();
        if (cast === undefined) throw new Error('There are no people for a history.');
        await live(world, cast, begun, commands);
      },
    ),
    { numRuns, seed: (fc.readConfigureGlobal().seed ?? 0) + number, endOnFailure: !SHRINK },
  );
}

describe('histories of several keepers, legal steps and illegal ones', () => {
  it(
    `${RUNS} histories end as a second account of the rules says, and their ledgers replay to the same state`,
    async () => {
      const lanes = await Promise.allSettled(worlds.map(lane));
      for (const each of lanes) if (each.status === 'rejected') throw each.reason as Error;
      process.stderr.write(`histories: ${JSON.stringify(Object.fromEntries([...seen].toSorted()))}\n`);
    },
    Math.max(600_000, RUNS * 10_000),
  );

  it('leave no row that must not be, over the whole database', async () => {
    for (const { client } of worlds) expect(await findForbidden(client)).toEqual([]);
  });
});
