import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { FactPageStore } from '../../libs/animal/store/fact-page.store.js';
import { SeriesStore } from '../../libs/animal/store/series.store.js';
import { addDays, day as dayOf } from '../../libs/kernel/index.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { statementsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const MANY = 300;

describe('an animal that is weighed daily', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  let animalId: string;
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    keeper = await world.keeper('Daily House');
    animalId = await world.animal(keeper, await world.taxon(), { since: '2024-01-01' });
    const day = new Date('2026-01-01');
    await world.db.animalFact.createMany({
      data: Array.from({ length: MANY }, (_, i) => ({
        id: uuid(),
        animalId,
        kind: i % 3 === 0 ? 'length' : 'weight',
        body: i % 3 === 0 ? { measure: 'total', millimetres: i + 1 } : { grams: i + 1 },
        edtf: '2026-01-01',
        earliest: day,
        latest: day,
        // Two of a moment, so that a page can end between them.
        recordedAt: new Date(Date.UTC(2026, 0, 2) + Math.floor(i / 2) * 1000),
        recordedBy: keeper.accountId,
        keeperId: keeper.keeperId,
      })),
    });
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  type Page = { edges: { node: { value: number } }[]; pageInfo: { hasNextPage: boolean; endCursor: string | null } };
  const page = async (after: string | null, quantity: string | null, first = 47): Promise<Page> =>
    (
      await test.get<{ animal: { measurements: Page } }>(
        `query ($id: ID, $after: String, $quantity: Quantity, $first: Int) { animal(id: $id) {
           measurements(first: $first, after: $after, quantity: $quantity) {
             edges { node { value } } pageInfo { hasNextPage endCursor } } } }`,
        { id: animalId, after, quantity, first },
        keeper.token,
      )
    ).animal.measurements;

  it.each([
    ['all', null, MANY],
    ['weights', 'weight', 200],
    ['lengths', 'length', 100],
  ])('pages through %s once each, last recorded first', async (_, quantity, count) => {
    const seen: number[] = [];
    let after: string | null = null;
    for (let pages = 0; pages < MANY; pages++) {
      const { edges, pageInfo }: Page = await page(after, quantity);
      seen.push(...edges.map(({ node }) => node.value));
      if (!pageInfo.hasNextPage) break;
      after = pageInfo.endCursor;
    }
    expect(seen).toHaveLength(count);
    expect(seen).toEqual(seen.toSorted((a, b) => b - a));
  });

  /** The store, with how many rows it has read. */
  function counting() {
    let read = 0;
    const client = {
      $queryRaw: async (...query: Parameters<typeof world.db.$queryRaw>) => {
        const found = await world.db.$queryRaw<unknown[]>(...query);
        read += found.length;
        return found;
      },
    };
    const database = { client } as unknown as Database;
    return { store: new FactPageStore(database), series: new SeriesStore(database), rows: () => read };
  }

  it('takes no more facts apart than a page shows', async () => {
    const { store, rows } = counting();
    const pages = [{ animalId, readsUntil: null, after: null }];
    const [found] = await store.findPages(pages, ['weight'], 20, []);
    expect(found).toHaveLength(21);
    expect(rows()).toBe(21);
  });

  it('pages through every version once each, and takes no more apart than a page shows', async () => {
    type History = { edges: { node: { id: string } }[]; pageInfo: { hasNextPage: boolean; endCursor: string | null } };
    const ids: string[] = [];
    let after: string | null = null;
    for (let pages = 0; pages < MANY; pages++) {
      const { animal }: { animal: { factHistory: History } } = await test.get(
        `query ($id: ID, $after: String) { animal(id: $id) { factHistory(first: 100, after: $after) {
           edges { node { id } } pageInfo { hasNextPage endCursor } } } }`,
        { id: animalId, after },
        keeper.token,
      );
      ids.push(...animal.factHistory.edges.map(({ node }) => node.id));
      if (!animal.factHistory.pageInfo.hasNextPage) break;
      after = animal.factHistory.pageInfo.endCursor;
    }
    const all = await world.db.animalFact.findMany({
      where: { animalId },
      orderBy: [{ recordedAt: 'desc' }, { id: 'desc' }],
    });
    expect(ids).toEqual(all.map(({ id }) => id));
    const { store, rows } = counting();
    const [found] = await store.findVersionPages([{ animalId, after: null }], 20, []);
    expect([found?.length, rows()]).toEqual([21, 21]);
  });

  it('keeps the last day it was seen through a new weight of an earlier day, and its withdrawal', async () => {
    const lastSeen = async () =>
      (
        await test.get<{ animal: { lastSeenOn: string } }>(
          `query ($id: ID) { animal(id: $id) { lastSeenOn } }`,
          { id: animalId },
          keeper.token,
        )
      ).animal.lastSeenOn;
    const weigh = async (when: string) =>
      (
        await test.get<{ recordFact: { fact: { id: string } | null } }>(
          `mutation ($input: RecordFactInput!) { recordFact(input: $input) { __typename } }`,
          { input: { animalId, weightGrams: 7, when } },
          keeper.token,
        )
      ).recordFact;
    await weigh('2026-01-05');
    expect(await lastSeen()).toBe('2026-01-05');
    await weigh('2025-12-01');
    expect(await lastSeen()).toBe('2026-01-05');
    const { id } = await world.db.animalFact.findFirstOrThrow({ where: { animalId, edtf: '2026-01-05' } });
    await test.get(
      `mutation ($input: WithdrawFactInput!) { withdrawFact(input: $input) { __typename } }`,
      { input: { factId: id, reason: 'another animal' } },
      keeper.token,
    );
    expect(await lastSeen()).toBe('2026-01-01');
  });

  it('refuses a cursor of another animal’s list, and one that is none', async () => {
    const other = await world.animal(keeper, await world.taxon());
    const cursor = (await page(null, 'weight', 1)).pageInfo.endCursor;
    for (const after of [cursor, Buffer.from('["x"]').toString('base64url')]) {
      const answer = await test.ask(
        `query ($id: ID, $after: String) { animal(id: $id) { weights(after: $after) { edges { cursor } } } }`,
        { id: other, after },
        keeper.token,
      );
      expect(answer.errors?.[0]?.extensions).toMatchObject({ code: 'INVALID_INPUT', fields: [{ path: 'after' }] });
    }
  });

  describe('its growth', () => {
    const DAYS = 100;
    const LAID_OUT = 'growth(quantity: weight) { withoutDay points { day value count changePerDay } }';
    type Growth = {
      withoutDay: number;
      points: { day: string; value: number; count: number; changePerDay: number | null }[];
    };
    const first = dayOf('2026-02-01');
    const weight = { quantity: 'weight', measure: null, of: null } as const;
    let grower: string;
    let twin: string;

    /** A weight of a day; day null = of a month. */
    const row = (of: string, grams: number, on: string | null, more: object = {}) => ({
      id: uuid(),
      animalId: of,
      kind: 'weight',
      body: { grams },
      edtf: on ?? '2026-02',
      earliest: new Date(on ?? '2026-02-01'),
      latest: new Date(on ?? '2026-02-28'),
      recordedAt: new Date('2026-06-01'),
      recordedBy: keeper.accountId,
      keeperId: keeper.keeperId,
      ...more,
    });

    beforeAll(async () => {
      const taxon = await world.taxon();
      const parted = { since: '2024-01-01' };
      [grower, twin] = [await world.animal(keeper, taxon, parted), await world.animal(keeper, taxon, parted)];
      const days = Array.from({ length: DAYS }, (_, i) => addDays(first, i));
      const superseded = { supersededAt: new Date('2026-06-02'), reason: 'misread' };
      const carapace = (millimetres: number) => ({
        kind: 'length',
        body: { measure: 'carapace_straight', millimetres },
      });
      await world.db.animalFact.createMany({
        data: [
          ...days.flatMap((on, i) => [
            row(grower, 100 + i, on),
            row(grower, 101.5 + i, on),
            row(grower, 900, on, superseded),
          ]),
          ...days.slice(0, 5).map((on, i) => row(twin, 50 + 2 * i, on)),
          ...[1, 2, 3].map((grams) => row(grower, grams, null)),
          row(grower, 1, first, carapace(84)),
          row(grower, 1, first, { kind: 'length', body: { measure: 'plastron', millimetres: 70 } }),
          row(grower, 1, first, { kind: 'temperature', body: { of: 'enclosure', celsius: 27 } }),
        ],
      });
    });

    const growths = async (fields: string): Promise<{ id: string; growth: Growth }[]> => {
      const { myCollection } = await test.get<{ myCollection: { edges: { node: { id: string; growth: Growth } }[] } }>(
        `query ($k: ID!) { myCollection(keeperId: $k, first: 50) { edges { node { id ${fields} } } } }`,
        { k: keeper.keeperId },
        keeper.token,
      );
      return myCollection.edges.map(({ node }) => node);
    };

    it('is the median of each day of one series in force, in one statement for many animals, cut in the database', async () => {
      let found: { id: string; growth: Growth }[] = [];
      const statements = await statementsOf(async () => {
        found = await growths(
          `${LAID_OUT} carapace: growth(quantity: length, measure: carapace_straight) { points { day } }`,
        );
      });
      const growth = found.find(({ id }) => id === grower)?.growth;
      expect(growth?.withoutDay).toBe(3);
      expect(growth?.points).toHaveLength(DAYS);
      expect(growth?.points.slice(0, 2)).toEqual([
        { day: '2026-02-01', value: 100.75, count: 2, changePerDay: null },
        { day: '2026-02-02', value: 101.75, count: 2, changePerDay: 1 },
      ]);
      expect(found.find(({ id }) => id === grower)).toMatchObject({ carapace: { points: [{ day: '2026-02-01' }] } });
      expect(found.find(({ id }) => id === twin)?.growth.points.map(({ value }) => value)).toEqual([
        50, 52, 54, 56, 58,
      ]);
      expect(found.find(({ id }) => id === animalId)?.growth.points.at(-1)).toMatchObject({ value: 151, count: 200 });
      const reads = statements.filter((statement) => /\banimal_fact\b/.test(statement));
      expect(reads).toEqual([expect.stringMatching(/LIMIT/)]);
    });

    it('takes no more days apart than a curve shows, the last ones', async () => {
      const { series, rows } = counting();
      const asked = { animalId: grower, readsUntil: null, series: weight };
      const [found] = await series.findSeries([asked], 20);
      expect(found?.days).toHaveLength(20);
      expect(found?.days.at(-1)).toEqual({ day: addDays(first, DAYS - 1), value: DAYS + 99.75, count: 2 });
      expect(found?.withoutDay).toBe(3);
      // One row says how many have no day.
      expect(rows()).toBe(21);
      const [none, all] = await series.findSeries(
        [
          { ...asked, series: { quantity: 'length', measure: 'tail', of: null } },
          { ...asked, animalId: twin },
        ],
        20,
      );
      expect([none, all?.days.length, all?.withoutDay]).toEqual([{ days: [], withoutDay: 0 }, 5, 0]);
    });

    it('shows the last 1000 days of a longer series, the first of them with its change too', async () => {
      const old = await world.animal(keeper, await world.taxon(), { since: '2020-01-01' });
      const days = Array.from({ length: 1003 }, (_, i) => addDays(dayOf('2021-01-01'), i));
      await world.db.animalFact.createMany({ data: days.map((on, i) => row(old, 1000 + i, on)) });
      const { animal } = await test.get<{ animal: { growth: Growth } }>(
        `query ($id: ID) { animal(id: $id) { ${LAID_OUT} } }`,
        { id: old },
        keeper.token,
      );
      expect(animal.growth.points).toHaveLength(1000);
      expect(animal.growth.points[0]).toEqual({ day: days[3], value: 1003, count: 1, changePerDay: 1 });
      expect(animal.growth.points.at(-1)).toMatchObject({ day: days[1002], value: 2002 });
    });

    it('is for a past holder what was in force when they gave it away', async () => {
      const { series } = counting();
      const at = async (readsUntil: Date | null) => {
        const [found] = await series.findSeries([{ animalId: grower, readsUntil, series: weight }], 1);
        return found?.days;
      };
      const day = addDays(first, DAYS - 1);
      expect(await at(new Date('2026-05-31'))).toEqual([]);
      // 199, 200.5 and what was taken back only later, 900.
      expect(await at(new Date('2026-06-01T12:00:00Z'))).toEqual([{ day, value: 200.5, count: 3 }]);
      expect(await at(new Date('2026-06-03'))).toEqual([{ day, value: 199.75, count: 2 }]);
      expect(await at(null)).toEqual([{ day, value: 199.75, count: 2 }]);
    });
  });
});
