import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { FactPageStore } from '../../libs/animal/store/fact-page.store.js';
import { type Database } from '../../libs/platform/prisma/index.js';
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
    return { store: new FactPageStore({ client } as unknown as Database), rows: () => read };
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
});
