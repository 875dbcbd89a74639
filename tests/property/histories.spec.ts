import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { commandKinds, registrations, type Running } from './history-commands.js';
import { Model } from './history-model.js';
import { accessOf, bookFaults, findForbidden, readAccess, readEntries, readState, stateOf } from './history-tables.js';
import { historyWorld, type HistoryWorld } from './history-world.js';
import { replay } from './ledger-replay.js';

/** Histories in a run, and commands drawn for each at most. */
const RUNS = Number(process.env['HISTORY_RUNS'] ?? 60);
const COMMANDS = 30;
/** A failing history is made shorter only when asked for: that may take many minutes. */
const SHRINK = process.env['HISTORY_SHRINK'] !== undefined;

let world: HistoryWorld;
const seen = new Map<string, number>();
beforeAll(async () => {
  world = await historyWorld();
});
afterAll(() => world.close());

/** A history of its own people, and everything that must hold once it is over. */
async function live(commands: Iterable<fc.AsyncCommand<Model, Running>>): Promise<void> {
  const cast = await world.cast();
  const model = new Model();
  cast.keepers.forEach((keeper, i) => model.roles.set(keeper, new Map([[cast.accounts[i] ?? '', 'owner']])));
  const running: Running = { world, cast, writes: 0, done: 0, refused: 0 };
  await fc.asyncModelRun(() => ({ model, real: running }), commands);
  const [animals, transfers] = [[...model.animals.keys()], [...model.transfers.keys()]];
  const tables = await readState(world.client, animals, transfers);
  expect(tables).toEqual(stateOf(model));
  expect(await readAccess(world.client, animals)).toEqual(accessOf(model));
  const entries = await readEntries(world.client, [...animals, ...transfers, ...cast.keepers]);
  expect(entries).toHaveLength(running.writes);
  expect(replay(entries)).toEqual(tables);
  if (!model.recounted) expect(await bookFaults(world.client, model, cast.keepers)).toEqual([]);
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

describe('histories of several keepers, legal steps and illegal ones', () => {
  it(
    `${RUNS} histories end as a second account of the rules says, and their ledgers replay to the same state`,
    async () => {
      const arbitrary = fc.tuple(registrations, fc.commands(commandKinds, { maxCommands: COMMANDS, size: 'max' }));
      await fc.assert(
        fc.asyncProperty(arbitrary, ([first, then]) => live([...first, ...then])),
        { numRuns: RUNS, endOnFailure: !SHRINK },
      );
      process.stderr.write(`histories: ${JSON.stringify(Object.fromEntries([...seen].toSorted()))}\n`);
    },
    Math.max(120_000, RUNS * 2_000),
  );

  it('leave no row that must not be, over the whole database', async () => {
    expect(await findForbidden(world.client)).toEqual([]);
  });
});
