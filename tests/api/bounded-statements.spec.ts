import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { statementsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const LIST = `query ($keeperId: ID!, $first: Int) { myCollection(keeperId: $keeperId, first: $first) { edges { node {
  registerNumber taxon { scientificName } marks { kind value } holder { label } sire { registerNumber } dam { registerNumber } } } } }`;

type List = {
  myCollection: { edges: { node: { sire: object | null; marks: object[]; holder: { label: string } } }[] };
};

describe('statements of a list', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    keeper = await world.keeper('Long House');
    const taxa = [await world.taxon(), await world.taxon()];
    const pairs: { taxon: string; sireId: string; damId: string }[] = [];
    for (const taxon of taxa) {
      const sireId = await world.animal(keeper, taxon, { sex: 'male' });
      pairs.push({ taxon, sireId, damId: await world.animal(keeper, taxon, { sex: 'female' }) });
    }
    // One taxon after the other, so that each page has both.
    for (let i = 0; i < 10; i++) {
      for (const { taxon, sireId, damId } of pairs)
        await world.animal(keeper, taxon, { sireId, damId, marks: [{ kind: 'notch', value: `${i}` }] });
    }
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const ask = async (first: number) => {
    let answer: List | undefined;
    const statements = await statementsOf(async () => {
      answer = await test.get<List>(LIST, { keeperId: keeper.keeperId, first }, keeper.token);
    });
    return { nodes: answer?.myCollection.edges.map((edge) => edge.node) ?? [], statements };
  };

  it('are at most 8 for 20 animals with taxon, marks, holder and parents, and as many for 5', async () => {
    const twenty = await ask(20);
    expect(twenty.nodes).toHaveLength(20);
    expect(twenty.nodes.filter((node) => node.sire !== null).length).toBeGreaterThanOrEqual(16);
    expect(twenty.nodes.every((node) => node.holder.label === 'Long House')).toBe(true);
    expect(twenty.statements.length).toBeGreaterThan(3); // the count itself works
    expect(twenty.statements.length).toBeLessThanOrEqual(8);
    expect((await ask(5)).statements.length).toBe(twenty.statements.length);
  });

  it.each([
    'files { id }',
    'markHistory { edges { cursor } }',
    'markConflicts { __typename }',
    'parentage { role candidates { animal { registerNumber } } }',
    'parentageHistory { edges { cursor } }',
    'openForBreeding',
    'breedingAvailability { open }',
    'breedingForecast { __typename }',
    'inbreeding { __typename }',
    'meanKinship { __typename }',
    'ancestors { __typename }',
    'descendants { edges { cursor } }',
    'clutches { edges { cursor } }',
    'matings { edges { cursor } }',
    'hatching { __typename }',
    'stays { edges { cursor } }',
    'companions { edges { cursor } }',
    'quarantine { __typename }',
    'documents { edges { cursor } }',
    'mergedInto { registerNumber }',
    'mergedRecords { registerNumber }',
    'weights { edges { cursor } }',
    'growth(quantity: weight) { withoutDay }',
    'traits { edges { cursor } }',
    'notes { edges { cursor } }',
    'birth { edtf }',
  ])('are as many for 20 animals as for 5 when each is asked for %s', async (field) => {
    const of = (first: number) =>
      statementsOf(async () => {
        await test.get(
          `query ($k: ID!, $first: Int) { myCollection(keeperId: $k, first: $first) { edges { node { ${field} } } } }`,
          { k: keeper.keeperId, first },
          keeper.token,
        );
      });
    await of(20); // what is read once a process
    const five = await of(5);
    expect(five.length).toBeGreaterThan(1); // the count itself works
    expect((await of(20)).length).toBeLessThanOrEqual(five.length);
  });

  it('pages through everything once, in order', async () => {
    const seen: string[] = [];
    let after: string | null = null;
    for (let page = 0; page < 10; page++) {
      const {
        myCollection,
      }: {
        myCollection: { edges: { node: { id: string } }[]; pageInfo: { hasNextPage: boolean; endCursor: string } };
      } = await test.get(
        `query ($k: ID!, $after: String) { myCollection(keeperId: $k, first: 7, after: $after) { edges { node { id } } pageInfo { hasNextPage endCursor } } }`,
        { k: keeper.keeperId, after },
        keeper.token,
      );
      seen.push(...myCollection.edges.map((edge) => edge.node.id));
      if (!myCollection.pageInfo.hasNextPage) break;
      after = myCollection.pageInfo.endCursor;
    }
    expect(seen).toHaveLength(24);
    expect(new Set(seen).size).toBe(24);
    expect(seen).toEqual(seen.toSorted());
  });
});
