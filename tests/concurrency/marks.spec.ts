import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import pg from 'pg';
import { RecordMark } from '../../libs/animal/app/record-mark.js';
import { RecordFate } from '../../libs/custody/app/record-fate.js';
import { holdRow, type Party, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let one: Party;
let two: Party;
let record: RecordMark;
beforeAll(async () => {
  w = await transferWorld();
  [one, two] = [await w.party('One'), await w.party('Two')];
  record = new RecordMark(w.uow);
});
afterAll(() => w.close());

const chip = (animalId: string, value: string) => ({
  animalId,
  kind: 'transponder' as const,
  value,
  when: null,
  size: null,
  fixedView: null,
  withScale: null,
  intervalDays: null,
});

describe('one chip recorded by two people at once', () => {
  it('is exactly one conflict, whoever comes first; both records stand', async () => {
    for (let round = 0; round < 5; round++) {
      const [mine, theirs] = [await w.animal(one), await w.animal(two)];
      const value = `98514100099900${round}`;
      // Both are past their own animal and wait for the number.
      const barrier = new pg.Client({ connectionString: w.url });
      await barrier.connect();
      await barrier.query('BEGIN');
      await barrier.query('SELECT pg_advisory_xact_lock(hashtextextended($1, 0))', [`mark:${value}`]);
      const both = Promise.all([
        record.execute(one.viewer, chip(mine, value)),
        record.execute(two.viewer, chip(theirs, value)),
      ]);
      for (let waiting = 0; waiting < 2;) {
        const { rows } = await w.client.$queryRaw<{ n: number }[]>`
          SELECT count(*)::int AS n FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'`.then(
          (found) => ({ rows: found }),
        );
        waiting = rows[0]?.n ?? 0;
      }
      await barrier.query('COMMIT');
      await barrier.end();
      await both;
      const conflicts = await w.client.markConflict.findMany({ where: { value } });
      expect(conflicts).toHaveLength(1);
      expect([conflicts[0]?.animalAId, conflicts[0]?.animalBId].sort()).toEqual([mine, theirs].sort());
      expect(conflicts[0]?.resolvedAt).toBeNull();
    }
  });

  it('the same mark sent twice for one animal is two marks and no conflict with itself', async () => {
    const animal = await w.animal(one);
    const barrier = await holdRow(w.url, 'animal', animal);
    const both = Promise.all([
      record.execute(one.viewer, chip(animal, '985141000998001')),
      record.execute(one.viewer, chip(animal, '985141000998001')),
    ]);
    await barrier.releaseWhenWaiting(2);
    await both;
    expect(await w.client.markConflict.count({ where: { value: '985141000998001' } })).toBe(0);
  });
});

it('found against stolen at once: the fates come one after the other, with one holder and at most one open report', async () => {
  const fate = new RecordFate(w.uow);
  const animal = await w.animal(one);
  const say = (change: 'missing' | 'found' | 'stolen') =>
    fate.execute(one.viewer, {
      animalId: animal,
      change,
      when: null,
      cause: null,
      certainty: null,
      foundBy: null,
      theft: null,
    });
  await say('missing');
  const barrier = await holdRow(w.url, 'animal', animal);
  const both = Promise.allSettled([say('found'), say('stolen')]);
  await barrier.releaseWhenWaiting(2);
  await both;
  const open = await w.client.custody.findMany({ where: { animalId: animal, supersededAt: null, validTo: null } });
  expect(open).toHaveLength(1);
  const { fate: now } = await w.client.animal.findUniqueOrThrow({ where: { id: animal } });
  const reports = await w.client.theftReport.count({ where: { animalId: animal, closedAt: null } });
  expect([now, reports, open[0]?.holderKind]).toEqual(
    now === 'stolen' ? ['stolen', 1, 'unknown'] : ['alive', 0, 'keeper'],
  );
});
