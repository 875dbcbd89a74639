import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { lockAnimals } from '../../libs/animal/index.js';
import { handOver, setOwners } from '../../libs/custody/index.js';
import { and, type Answer, day, isOnOrBefore, parseEdtf } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { statementsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const LIST = `query ($k: ID!, $first: Int, $after: String, $filter: CollectionFilterInput, $order: CollectionOrder) {
  myCollection(keeperId: $k, first: $first, after: $after, filter: $filter, order: $order) {
    edges { node { id birth { edtf } } } pageInfo { hasNextPage endCursor } } }`;
type Page = {
  myCollection: {
    edges: { node: { id: string; birth: { edtf: string } | null } }[];
    pageInfo: { hasNextPage: boolean; endCursor: string | null };
  };
};

/** Births in the order of registration; null = nothing said. */
const BIRTHS = [
  '2023-06',
  null,
  '2021',
  '2022-03-04',
  '../2020-12-31',
  '2021-01-01',
  '2022-12-31',
  null,
  '2021-11/2022-02',
  '2021',
  '2022-01-01/..',
  '202X',
] as const;

describe('a collection by uncertain days of birth', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  let taxon: string;
  const born = new Map<string, (typeof BIRTHS)[number]>();
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    keeper = await world.keeper('Year House');
    taxon = await world.taxon();
    for (const edtf of BIRTHS) {
      const more = edtf === null ? {} : { birth: { edtf, manner: 'hatched' } };
      born.set(await world.animal(keeper, taxon, more), edtf);
    }
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const list = async (variables: object, who = keeper) =>
    (await test.get<Page>(LIST, { k: who.keeperId, first: 100, ...variables }, who.token)).myCollection;
  const births = async (variables: object) => (await list(variables)).edges.map(({ node }) => node.birth?.edtf ?? null);

  /** What the kernel's three-valued rules say, of a birth that nothing is known of too. */
  const answerOf = (edtf: string | null, from: string | null, to: string | null): Answer => {
    const read = edtf === null ? null : parseEdtf(edtf);
    const span = read?.ok ? read.value : { earliest: null, latest: null };
    const exact = (text: string) => ({ earliest: day(text), latest: day(text) });
    return and(
      ...(from === null ? [] : [isOnOrBefore(exact(from), span)]),
      ...(to === null ? [] : [isOnOrBefore(span, exact(to))]),
    );
  };

  it.each([
    ['2022-01-01', '2022-12-31'],
    ['2021-01-01', '2021-12-31'],
    ['2021-01-01', '2021-01-01'],
    ['2022-03-04', null],
    ['2020-12-31', null],
    [null, '2020-12-31'],
    [null, '2022-02-28'],
    ['1990-01-01', '1990-12-31'],
  ])('lets through what surely or possibly lies between %s and %s, as the three-valued rules do', async (from, to) => {
    const days = { bornFrom: from, bornTo: to };
    const expected = (wanted: readonly Answer[]) => BIRTHS.filter((edtf) => wanted.includes(answerOf(edtf, from, to)));
    expect(await births({ filter: { ...days, match: 'certain' } })).toEqual(expected(['yes']));
    expect(await births({ filter: { ...days, match: 'possible' } })).toEqual(expected(['yes', 'possible']));
    expect(await births({ filter: days })).toEqual(expected(['yes', 'possible']));
  });

  it('gives the year 2022 for sure and possibly, said out loud', async () => {
    const filter = { bornFrom: '2022-01-01', bornTo: '2022-12-31' };
    expect(await births({ filter: { ...filter, match: 'certain' } })).toEqual(['2022-03-04', '2022-12-31']);
    expect(await births({ filter })).toEqual([
      null,
      '2022-03-04',
      '2022-12-31',
      null,
      '2021-11/2022-02',
      '2022-01-01/..',
      '202X',
    ]);
  });

  const IN_ORDER = [
    '202X',
    '2021',
    '2021-01-01',
    '2021',
    '2021-11/2022-02',
    '2022-01-01/..',
    '2022-03-04',
    '2022-12-31',
    '2023-06',
    null,
    '../2020-12-31',
    null,
  ];

  it.each([1, 2, 3, 5])('pages %i at a time through equal and unknown days, each animal once', async (first) => {
    const seen: string[] = [];
    let after: string | null = null;
    for (let page = 0; page <= BIRTHS.length; page++) {
      const { edges, pageInfo }: Page['myCollection'] = await list({ first, after, order: 'born' });
      seen.push(...edges.map(({ node }) => node.id));
      if (!pageInfo.hasNextPage) break;
      after = pageInfo.endCursor;
    }
    expect(seen.map((id) => born.get(id))).toEqual(IN_ORDER);
    expect(new Set(seen).size).toBe(BIRTHS.length);
  });

  it('keeps the filter while it pages in the order of birth', async () => {
    const variables = {
      first: 2,
      order: 'born',
      filter: { bornFrom: '2021-01-01', bornTo: '2021-12-31', match: 'certain' },
    };
    const page = await list(variables);
    expect(page.edges.map(({ node }) => node.birth?.edtf)).toEqual(['2021', '2021-01-01']);
    const rest = await list({ ...variables, after: page.pageInfo.endCursor });
    expect(rest.edges.map(({ node }) => node.birth?.edtf)).toEqual(['2021']);
    expect(rest.pageInfo.hasNextPage).toBe(false);
  });

  it('reads a page in as many statements however it is asked for', async () => {
    await list({});
    const plain = await statementsOf(() => list({ first: 3 }));
    const asked = await statementsOf(() => list({ order: 'born', filter: { bornFrom: '2020-01-01' } }));
    expect(plain.length).toBeGreaterThan(1); // the count itself works
    expect(asked).toHaveLength(plain.length);
  });

  it('refuses days the wrong way round, a match without days, and the cursor of another order', async () => {
    const problem = async (variables: object) => {
      const answer = await test.ask(LIST, { k: keeper.keeperId, ...variables }, keeper.token);
      return answer.errors?.[0]?.extensions;
    };
    expect(await problem({ filter: { bornFrom: '2022-01-02', bornTo: '2022-01-01' } })).toMatchObject({
      code: 'INVALID_INPUT',
      fields: [{ path: 'filter.bornTo' }],
    });
    expect(await problem({ filter: { match: 'certain' } })).toMatchObject({ fields: [{ path: 'filter.match' }] });
    const byBirth = (await list({ first: 1, order: 'born' })).pageInfo.endCursor;
    const byNumber = (await list({ first: 1 })).pageInfo.endCursor;
    expect(await problem({ after: byBirth })).toMatchObject({ code: 'INVALID_INPUT', fields: [{ path: 'after' }] });
    expect(await problem({ after: byNumber, order: 'born' })).toMatchObject({ fields: [{ path: 'after' }] });
    const forged = Buffer.from(JSON.stringify(['born', '2021-02-29', [...born.keys()][0]])).toString('base64url');
    expect(await problem({ after: forged, order: 'born' })).toMatchObject({ code: 'INVALID_INPUT' });
  });

  it('tells a past holder nothing of a birth corrected since, by no filter and no order', async () => {
    const [giver, receiver] = [await world.keeper('Giver House'), await world.keeper('Receiver House')];
    const birth = { edtf: '2021', manner: 'hatched' };
    const id = await world.animal(giver, taxon, { birth, since: '2026-01-01' });
    const kept = await world.animal(giver, taxon, { birth, since: '2026-01-01' });
    await new UnitOfWork(world.db, new Clock()).writeAsServer(null, async (tx) => {
      await lockAnimals(tx, [id]);
      const to = { kind: 'keeper', keeperId: receiver.keeperId } as const;
      const on = day('2026-03-01');
      const moved = await handOver(tx, { animalId: id, to, on, leftBy: 'given', arrivedBy: 'received' });
      return moved.ok ? setOwners(tx, { animalId: id, from: on, shares: [{ owner: to, parts: 1 }] }) : moved;
    });
    const { id: factId } = await world.db.animalFact.findFirstOrThrow({ where: { animalId: id, kind: 'birth' } });
    await test.get(
      `mutation ($input: SupersedeFactInput!) { supersedeFact(input: $input) { animal { id } } }`,
      { input: { factId, when: '2019-05-03', reason: 'the breeder’s book' } },
      receiver.token,
    );
    const of2019 = { filter: { bornFrom: '2019-01-01', bornTo: '2019-12-31' } };
    const ids = async (who: TestKeeper, variables: object) =>
      (await list(variables, who)).edges.map(({ node }) => node.id);
    expect(await ids(receiver, of2019)).toEqual([id]);
    expect(await ids(giver, of2019)).toEqual([]);
    expect(await ids(giver, { order: 'born' })).toEqual([kept]);
    // The copy the giver still reads says what it said then.
    const copy = await test.get<{ animal: { birth: { edtf: string } } }>(
      `query ($id: ID) { animal(id: $id) { birth { edtf } } }`,
      { id },
      giver.token,
    );
    expect(copy.animal.birth.edtf).toBe('2021');
    const refused = await test.ask(LIST, { k: receiver.keeperId, ...of2019 }, giver.token);
    expect(refused.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });
});
