import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { setTimeout as sleep } from 'node:timers/promises';
import pg from 'pg';
import { v7 as uuid } from 'uuid';
import { registerStock } from '../../libs/custody/index.js';
import { decide, exactDay } from '../../libs/kernel/index.js';
import { lockLineage, replaceClaim } from '../../libs/lineage/index.js';
import { deleteOldLivingChanges, LIVING_CHANGE_DAYS } from '../../libs/lineage/pedigree/living-changes.store.js';
import { type LivePedigrees, livePedigrees, numbersOf } from '../support/live-pedigrees.js';
import { holdRow, type Party, REGISTERED, transferWorld, type TransferWorld } from '../support/transfer-world.js';

let w: TransferWorld;
let keeper: Party;
let servers: [LivePedigrees, LivePedigrees];
beforeAll(async () => {
  w = await transferWorld();
  keeper = await w.party('Keeper');
});
afterAll(() => w.close());
beforeEach(() => {
  servers = [livePedigrees(w.url), livePedigrees(w.url)];
});
afterEach(async () => {
  await Promise.all(servers.map((server) => server.close()));
});

type Said = readonly { readonly parentId: string; readonly probability: number }[];
const certain = (parentId: string): Said => [{ parentId, probability: 1 }];

/** Registers an animal as registering does, with claims on its parents. */
function birth(sires: Said, dams: Said): Promise<string> {
  return w.uow.writeAsServer(null, async (tx) => {
    const made = await registerStock(tx, {
      animal: {
        kind: 'individual',
        taxonId: w.taxonId,
        lineId: null,
        count: 1,
        countEstimated: false,
        keeperId: keeper.keeperId,
        on: REGISTERED,
        facts: [{ fact: { kind: 'origin', body: { originClass: 'bred' } }, when: exactDay(REGISTERED) }],
        marks: [],
      },
      parents: [
        ...(sires.length > 0 ? [{ role: 'sire' as const, basis: 'declared' as const, candidates: sires }] : []),
        ...(dams.length > 0 ? [{ role: 'dam' as const, basis: 'declared' as const, candidates: dams }] : []),
      ],
      from: REGISTERED,
      arrivedBy: 'registered',
      owners: [{ owner: { kind: 'keeper', keeperId: keeper.keeperId }, parts: 1 }],
    });
    return made.ok ? decide(made.value.id) : made;
  });
}

function sireOf(animalId: string, parentId: string): Promise<bigint> {
  return w.uow.writeAsServer(null, async (tx) => {
    await lockLineage(tx, w.taxonId);
    const claim = { role: 'sire' as const, basis: 'declared' as const, candidates: certain(parentId) };
    return decide(await replaceClaim(tx, { id: animalId, taxonId: w.taxonId }, 'sire', claim, 'A test.'));
  });
}

const set = (animalId: string, assignment: string) =>
  w.client.$executeRawUnsafe(`UPDATE animal SET ${assignment} WHERE id = $1::uuid`, animalId);

/** Waits until no transaction runs that began before the changes of these animals, in whichever database of the server. */
async function behindUs(...animalIds: string[]): Promise<void> {
  for (let open = true; open;) {
    const [row] = await w.client.$queryRaw<{ open: boolean }[]>`
      SELECT EXISTS (SELECT FROM living_change WHERE animal_id = ANY(${animalIds}::uuid[])
        AND transaction >= pg_snapshot_xmin(pg_current_snapshot())::text::bigint) AS open`;
    open = row?.open === true;
    if (open) await sleep(20);
  }
}

/** What a server that starts now computes from the rows. */
async function fromScratch() {
  const fresh = livePedigrees(w.url);
  try {
    return numbersOf(await fresh.population.of(w.taxonId));
  } finally {
    await fresh.close();
  }
}

async function expectAllAgree(): Promise<void> {
  const expected = await fromScratch();
  for (const { population } of servers) expect(numbersOf(await population.of(w.taxonId))).toEqual(expected);
}

describe('what servers keep of a pedigree', () => {
  it('holds in the next answer of every server what was written through none of them', async () => {
    const [a, b] = servers;
    const [sire, dam] = [await birth([], []), await birth([], [])];
    const before = await a.population.of(w.taxonId);
    expect((await b.population.of(w.taxonId)).size).toBe(before.size);
    const child = await birth(certain(sire), certain(dam));
    const inbred = await birth(certain(sire), certain(child));
    for (const { population } of servers) {
      const { snapshot, size } = await population.of(w.taxonId);
      expect(size).toBe(before.size + 2);
      expect(snapshot.inbreeding[snapshot.indexOf.get(inbred) ?? -1]).toBe(0.25);
    }
    expect(before.snapshot.indexOf.get(child)).toBeUndefined();
    await expectAllAgree();
  });

  it('follows every change of fate, kind, founder, merge and taxon, whoever makes it and how', async () => {
    const [sire, dam] = [await birth([], []), await birth([], [])];
    const child = await birth(certain(sire), certain(dam));
    const other = await birth([], certain(dam));
    await expectAllAgree();
    const elsewhere = uuid();
    await w.client.$executeRaw`
      INSERT INTO taxon (id, scientific_name, common_name, class_name, order_name, name_source, quarantine_days, quarantine_source)
      SELECT ${elsewhere}::uuid, 'Testudo inventa', common_name, class_name, order_name, name_source, quarantine_days, quarantine_source
      FROM taxon WHERE id = ${w.taxonId}::uuid`;
    for (const [animal, assignment] of [
      [child, `fate = 'dead', count = 0`],
      [child, `fate = 'alive', count = 1`],
      [child, `fate = 'missing'`],
      [sire, `declared_founder = true`],
      [child, `kind = 'lot'`],
      [other, `merged_into_id = '${child}'`],
      [other, `merged_into_id = NULL`],
      [dam, `taxon_id = '${elsewhere}'`],
      [dam, `taxon_id = '${w.taxonId}'`],
    ] as const) {
      const changes = await w.client.livingChange.count();
      await set(animal, assignment);
      expect([assignment, await w.client.livingChange.count()]).not.toEqual([assignment, changes]);
      await expectAllAgree();
    }
    const changes = await w.client.livingChange.count();
    await set(sire, `name = 'Other', line_id = NULL, fate = fate, version = version + 1`);
    expect(await w.client.livingChange.count()).toBe(changes);
  });

  it('is not misled by a transaction that began earlier and ends later', async () => {
    const [slow, quick] = [await birth([], []), await birth([], [])];
    const { population } = servers[0];
    const before = (await population.of(w.taxonId)).size;
    const session = new pg.Client({ connectionString: w.url });
    await session.connect();
    try {
      await session.query('BEGIN');
      await session.query(`UPDATE animal SET fate = 'dead', count = 0 WHERE id = $1`, [slow]);
      await set(quick, `fate = 'dead', count = 0`);
      expect((await population.of(w.taxonId)).size).toBe(before - 1);
      await session.query('COMMIT');
      expect((await population.of(w.taxonId)).size).toBe(before - 2);
      await session.query('BEGIN');
      await session.query(`UPDATE animal SET fate = 'alive', count = 1 WHERE id = $1`, [slow]);
      expect((await population.of(w.taxonId)).size).toBe(before - 2);
      await session.query('ROLLBACK');
      expect((await population.of(w.taxonId)).size).toBe(before - 2);
    } finally {
      await session.end();
    }
  });

  it('passes over changes with the numbers of another server’s transactions, left by a restored dump', async () => {
    const animal = await birth([], []);
    const { pedigrees } = servers[0];
    const before = await pedigrees.of(w.taxonId);
    await w.client.livingChange.create({
      data: { taxonId: w.taxonId, transaction: 2n ** 60n, animalId: animal },
    });
    await w.client.livingPruned.create({ data: { taxonId: w.taxonId, transaction: 2n ** 60n } });
    expect(await pedigrees.of(w.taxonId)).toBe(before);
    await w.client.livingPruned.deleteMany();
    await w.client.livingChange.deleteMany({ where: { transaction: 2n ** 60n } });
  });

  it('reads everything again where changes it has not seen were deleted; who has seen them goes on with what it has', async () => {
    const [first, second] = [await birth([], []), await birth([], [])];
    const [late, there] = servers;
    const before = await late.pedigrees.of(w.taxonId);
    await set(first, `fate = 'dead', count = 0`);
    await behindUs(first);
    const seen = await there.pedigrees.of(w.taxonId);
    const nextMonth = new Date(Date.now() + (LIVING_CHANGE_DAYS + 1) * 86_400_000);
    expect(await deleteOldLivingChanges(w.client, new Date())).toBe(0);
    expect(await deleteOldLivingChanges(w.client, nextMonth)).toBeGreaterThan(0);
    expect(await deleteOldLivingChanges(w.client, nextMonth)).toBe(0);
    expect(await there.pedigrees.of(w.taxonId)).toBe(seen);
    const after = await late.pedigrees.of(w.taxonId);
    expect(after).not.toBe(before);
    // Once, and not with every question.
    expect(await late.pedigrees.of(w.taxonId)).toBe(after);
    await expectAllAgree();
    await set(second, `fate = 'dead', count = 0`);
    await expectAllAgree();
  });

  it('keeps what a transaction that still runs may come before, and forgets no change of one that ends after the deletion', async () => {
    const [slow, quick] = [await birth([], []), await birth([], [])];
    const { population } = servers[0];
    const before = (await population.of(w.taxonId)).size;
    const nextMonth = new Date(Date.now() + (LIVING_CHANGE_DAYS + 1) * 86_400_000);
    const session = new pg.Client({ connectionString: w.url });
    await session.connect();
    try {
      await session.query('BEGIN');
      await session.query(`UPDATE animal SET fate = 'dead', count = 0 WHERE id = $1`, [slow]);
      await set(quick, `fate = 'dead', count = 0`);
      await deleteOldLivingChanges(w.client, nextMonth);
      expect(await w.client.livingChange.count({ where: { animalId: quick } })).toBe(1);
      expect((await population.of(w.taxonId)).size).toBe(before - 1);
      await session.query('COMMIT');
    } finally {
      await session.end();
    }
    await behindUs(slow, quick);
    await deleteOldLivingChanges(w.client, nextMonth);
    expect(await w.client.livingChange.count({ where: { animalId: { in: [slow, quick] } } })).toBe(0);
    expect((await population.of(w.taxonId)).size).toBe(before - 2);
    await expectAllAgree();
  });

  it('computes anew where a parent of an animal with offspring is recorded, and candidates count', async () => {
    const [f, m, g] = [await birth([], []), await birth([], []), await birth([], [])];
    const either = [
      { parentId: f, probability: 0.5 },
      { parentId: g, probability: 0.5 },
    ];
    const child = await birth(either, certain(m));
    const inbred = await birth(certain(f), certain(child));
    await expectAllAgree();
    const f1 = async () => {
      const { snapshot } = await servers[1].population.of(w.taxonId);
      return snapshot.inbreeding[snapshot.indexOf.get(inbred) ?? -1];
    };
    // Half of a father mated to his daughter: ½ · ¼.
    expect(await f1()).toBe(0.125);
    await sireOf(child, f);
    expect(await f1()).toBe(0.25);
    await expectAllAgree();
  });

  it('shares work, and gives everybody at least what was there when they asked', async () => {
    const { population } = servers[0];
    const before = (await population.of(w.taxonId)).size;
    await Promise.all(
      Array.from({ length: 12 }, async (_, k) => {
        const child = await birth([], []);
        const { snapshot, size } = await population.of(w.taxonId);
        expect([k, snapshot.indexOf.get(child)]).not.toEqual([k, undefined]);
        expect(size).toBeGreaterThan(before);
      }),
    );
    expect((await population.of(w.taxonId)).size).toBe(before + 12);
    await expectAllAgree();
  });

  it.each([1, 2, 3])('births at one moment lead to the same numbers everywhere (%i)', async () => {
    const parents = [await birth([], []), await birth([], []), await birth([], [])];
    await expectAllAgree();
    const { id } = await w.client.lineagePopulation.findUniqueOrThrow({ where: { taxonId: w.taxonId } });
    const barrier = await holdRow(w.url, 'lineage_population', id);
    const [p, q, r] = parents.map((parent) => certain(parent)) as [Said, Said, Said];
    const born = Promise.all([birth(p, q), birth(p, r), birth(q, r), birth(p, q)]);
    await barrier.releaseWhenWaiting(3);
    const asked = born.then(async (children) => {
      for (const { pedigrees } of servers) {
        const snapshot = await pedigrees.of(w.taxonId);
        for (const child of children) expect(snapshot.indexOf.get(child)).toBeDefined();
      }
      return children;
    });
    const [first = '', second = ''] = await asked;
    await birth(certain(first), certain(second));
    await expectAllAgree();
  });
});
