import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import sharp from 'sharp';
import { registerInto } from '../../apps/pedigree/src/register-into.js';
import { describeWithReference, referencePath, referenceTable } from '../external/reference-folder.js';
import { statementsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const DESCENDANTS = `query ($id: ID!, $generations: Int, $first: Int, $after: String) { animal(id: $id) {
  descendants(generations: $generations, first: $first, after: $after) { pageInfo { hasNextPage endCursor }
    edges { cursor node { generation share probability shown animal { id name } } } } } }`;
const TABLE = `query ($animals: [ID!]!) { kinshipTable(animals: $animals) { version asOf rows { knownAncestry kinships animal { id } } } }`;

type Descendant = {
  generation: number;
  share: number;
  probability: number;
  shown: boolean;
  animal: { id: string; name: string | null } | null;
};
type Page = {
  animal: {
    descendants: {
      pageInfo: { hasNextPage: boolean; endCursor: string | null };
      edges: { cursor: string; node: Descendant }[];
    };
  };
};
type Table = { kinshipTable: { version: string; rows: { knownAncestry: number; kinships: number[] }[] } };

/**
 * Mrode, Linear Models for the Prediction of Animal Breeding Values (2005), table 2.1 and its relationship matrix: animals
 * 1 and 2 are founders, 3 = 1 × 2, 4 = 1 × unknown, 5 = 4 × 3, 6 = 5 × 2.
 */
const MRODE = {
  parents: [[], [], [1, 2], [1, null], [4, 3], [5, 2]] as (number | null)[][],
  relationship: [
    [1, 0, 0.5, 0.5, 0.5, 0.25],
    [0, 1, 0.5, 0, 0.25, 0.625],
    [0.5, 0.5, 1, 0.25, 0.625, 0.5625],
    [0.5, 0, 0.25, 1, 0.625, 0.3125],
    [0.5, 0.25, 0.625, 0.625, 1.125, 0.6875],
    [0.25, 0.625, 0.5625, 0.3125, 0.6875, 1.125],
  ],
};

describe('questions about lineage', () => {
  let test: TestApp;
  let world: RegistryWorld;
  let keeper: TestKeeper;
  let stranger: TestKeeper;
  let taxon: string;
  /** Ids of the six animals of Mrode; `mrode[0]` is animal 1. */
  const mrode: string[] = [];
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    keeper = await world.keeper('Long House');
    stranger = await world.keeper('Far House');
    taxon = await world.taxon();
    for (const [k, [sire, dam]] of MRODE.parents.entries()) {
      const parents = { sireId: mrode[(sire ?? 0) - 1], damId: mrode[(dam ?? 0) - 1] };
      mrode.push(await world.animal(keeper, taxon, { name: `Mrode ${k + 1} <&>`, ...parents }));
    }
  });
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  const id = (animal: number): string => mrode[animal - 1] ?? '';
  const page = async (variables: object, token = keeper.token) =>
    (await test.get<Page>(DESCENDANTS, variables, token)).animal.descendants;
  const nodes = async (variables: object, token = keeper.token) =>
    (await page(variables, token)).edges.map((edge) => edge.node);
  const svg = (path: string, token?: string) => {
    const asked = test
      .http()
      .get(path)
      .buffer(true)
      .parse((response, done) => {
        const chunks: Buffer[] = [];
        response.on('data', (chunk: Buffer) => chunks.push(chunk));
        response.on('end', () => done(null, Buffer.concat(chunks).toString('utf8')));
      });
    return token === undefined ? asked : asked.set('authorization', `Bearer ${token}`);
  };

  it('each descendant once, with the nearest generation and its share, which for a founder is its row of A', async () => {
    const found = await nodes({ id: id(1), generations: 20 });
    expect(found.map(({ generation, share, animal }) => [animal?.id, generation, share])).toEqual([
      [id(3), 1, 0.5],
      [id(4), 1, 0.5],
      [id(5), 2, 0.5],
      [id(6), 3, 0.25],
    ]);
    expect(found.every(({ probability, shown }) => probability === 1 && shown)).toBe(true);
    expect(await nodes({ id: id(1), generations: 1 })).toHaveLength(2);
    expect(await nodes({ id: id(6), generations: 20 })).toEqual([]);
  });

  it('pages on after the last, with cursors that name no animal, and refuses cursors of another list', async () => {
    const seen: (string | undefined)[] = [];
    let after: string | null = null;
    do {
      const next = await page({ id: id(1), generations: 20, first: 1, after });
      seen.push(...next.edges.map(({ node }) => node.animal?.id));
      after = next.pageInfo.hasNextPage ? next.pageInfo.endCursor : null;
      for (const { cursor, node } of next.edges)
        expect(Buffer.from(cursor, 'base64url').toString()).not.toContain(node.animal?.id.slice(0, 8));
    } while (after !== null);
    expect(seen).toEqual([id(3), id(4), id(5), id(6)]);
    for (const bad of [
      'x',
      Buffer.from('["1","x"]').toString('base64url'),
      Buffer.from('["a"]').toString('base64url'),
    ]) {
      const refused = await test.ask(DESCENDANTS, { id: id(1), after: bad }, keeper.token);
      expect(refused.errors?.[0]?.extensions).toMatchObject({ code: 'INVALID_INPUT', fields: [{ path: 'after' }] });
    }
    const tooFar = await test.ask(DESCENDANTS, { id: id(1), generations: 21 }, keeper.token);
    expect(tooFar.errors?.[0]?.extensions.code).toBe('INVALID_INPUT');
  });

  it('says of a descendant over one of several possible parents how probable that is', async () => {
    const own = await world.taxon();
    const [one, other] = [await world.animal(keeper, own), await world.animal(keeper, own)];
    const child = await world.animal(keeper, own);
    const young = await world.animal(keeper, own, { damId: child });
    await test.get(
      `mutation ($input: RecordParentInput!) { recordParent(input: $input) { animal { id } } }`,
      {
        input: {
          animalId: child,
          role: 'sire',
          candidates: [
            { parentId: one, probability: 0.25 },
            { parentId: other, probability: 0.75 },
          ],
          basis: 'shared_enclosure',
        },
      },
      keeper.token,
    );
    expect(await nodes({ id: one })).toMatchObject([
      { generation: 1, share: 0.125, probability: 0.25, animal: { id: child } },
      { generation: 2, share: 0.0625, probability: 0.25, animal: { id: young } },
    ]);
    const chart = (await svg(`/animals/${young}/pedigree.svg`, keeper.token)).body as string;
    expect(chart).toContain('>75 %<');
    expect(chart).toContain('>25 %<');
  });

  it('tables the kinship of six animals as Mrode does', async () => {
    const { kinshipTable } = await test.get<Table>(TABLE, { animals: mrode }, keeper.token);
    const expected = MRODE.relationship.map((row) => row.map((value) => value / 2));
    for (const [i, row] of kinshipTable.rows.entries())
      for (const [j, value] of row.kinships.entries()) expect(value).toBeCloseTo(expected[i]?.[j] ?? NaN, 12);
    expect(kinshipTable.rows).toHaveLength(6);
  });

  it('says how two animals are related, through whom, and how much of it', async () => {
    const relate = async (a: string, b: string) =>
      (
        await test.get<{ relationship: object }>(
          `query ($a: ID!, $b: ID!) { relationship(a: $a, b: $b) { kinship words aIs bIs distantShare
             sharedAncestors { share generationsA generationsB shown animal { id } } } }`,
          { a, b },
          keeper.token,
        )
      ).relationship;
    expect(await relate(id(3), id(4))).toEqual({
      kinship: 0.125,
      words: 'half siblings through the sire',
      aIs: 'half sibling through the sire',
      bIs: 'half sibling through the sire',
      distantShare: 0,
      sharedAncestors: [{ share: 1, generationsA: 1, generationsB: 1, shown: true, animal: { id: id(1) } }],
    });
    // 6 = 5 × 2, and 2 is the dam of 3, the dam of 5: ½ · ½(1 + F of 5) through 5, ½ · ½ · ½ · ½ through 2 (Wright 1922).
    expect(await relate(id(5), id(6))).toMatchObject({
      kinship: 0.34375,
      sharedAncestors: [
        { share: 0.28125 / 0.34375, generationsA: 0, generationsB: 1, animal: { id: id(5) } },
        { share: 0.0625 / 0.34375, generationsA: 2, generationsB: 1, animal: { id: id(2) } },
      ],
    });
    expect(await relate(id(1), id(2))).toMatchObject({
      kinship: 0,
      words: 'no shared ancestor known',
      aIs: null,
      sharedAncestors: [],
    });
  });

  it.each([
    ['one animal', () => [id(1)]],
    ['one animal twice', () => [id(1), id(2), id(1)]],
    ['61 animals', () => Array.from({ length: 61 }, () => id(1))],
  ])('tables nothing for %s', async (_, animals) => {
    const refused = await test.ask(TABLE, { animals: animals() }, keeper.token);
    expect(refused.errors?.[0]?.extensions).toMatchObject({ code: 'INVALID_INPUT', fields: [{ path: 'animals' }] });
  });

  it('draws a pedigree that every reader of SVG can draw, with names as text and nothing that runs', async () => {
    const answer = await svg(`/animals/${id(6)}/pedigree.svg?generations=3`, keeper.token);
    expect(answer.status).toBe(200);
    expect(answer.headers['content-type']).toBe('image/svg+xml; charset=utf-8');
    expect(answer.headers['content-security-policy']).toBe("default-src 'none'; sandbox");
    expect(answer.headers['cache-control']).toContain('no-store');
    const chart = answer.body as string;
    // F of animal 6 is 0.125 (Mrode); one of its eight great-grandparents is unknown, and half of 4's share with it.
    expect(chart).toContain('>F 0.1250<');
    for (const animal of [1, 2, 3, 4, 5, 6]) expect(chart).toContain(`Mrode ${animal} &lt;&amp;&gt;`);
    expect(chart).toMatch(/>dam is no\. 3 Mrode 2/);
    expect(chart).toContain('>dam unknown<');
    const { info } = await sharp(Buffer.from(chart)).png().toBuffer({ resolveWithObject: true });
    expect(info.width / info.height).toBeCloseTo(297 / 210, 2);
  });

  it('draws by register number as well, over four generations where none are asked for', async () => {
    const { animal } = await test.get<{ animal: { registerNumber: string } }>(
      `query ($id: ID!) { animal(id: $id) { registerNumber } }`,
      { id: id(6) },
      keeper.token,
    );
    const byNumber = await svg(`/animals/${animal.registerNumber}/pedigree.svg`, keeper.token);
    expect(byNumber.body).toBe((await svg(`/animals/${id(6)}/pedigree.svg?generations=4`, keeper.token)).body);
  });

  it('draws the kinship of a group', async () => {
    const answer = await svg(`/kinship.svg?animals=${mrode.join(',')}`, keeper.token);
    expect(answer.status).toBe(200);
    const chart = answer.body as string;
    expect(chart.match(/>0\.313</g)).toHaveLength(6); // A = 0.625 between 2 and 6, 3 and 5, 4 and 5: kinship 0.3125
    await expect(sharp(Buffer.from(chart)).png().toBuffer()).resolves.toBeInstanceOf(Buffer);
  });

  it('refuses what cannot be drawn, and those who are not signed in', async () => {
    for (const generations of ['0', '7', 'x', '1.5', '10']) {
      const refused = await svg(`/animals/${id(1)}/pedigree.svg?generations=${generations}`, keeper.token);
      expect([generations, refused.status]).toEqual([generations, 400]);
    }
    expect((await svg(`/animals/${id(1)}/pedigree.svg`)).status).toBe(401);
    expect((await svg(`/kinship.svg?animals=${id(1)},${id(2)}`)).status).toBe(401);
    const others = await world.animal(keeper, await world.taxon());
    expect((await svg(`/kinship.svg?animals=${id(1)},${others}`, keeper.token)).status).toBe(400);
  });

  it('answers a stranger as if the animals did not exist', async () => {
    const nothing = '018f0000-0000-7000-8000-000000000000';
    const bare = (body: unknown) => (body as string).replace(/"requestId":"[^"]*"/, '');
    for (const path of ['/animals/ID/pedigree.svg', `/kinship.svg?animals=ID,${nothing}`]) {
      const hidden = await svg(path.replace('ID', id(6)), stranger.token);
      const absent = await svg(path.replace('ID', '018f0000-0000-7000-8000-000000000001'), stranger.token);
      expect(hidden.status).toBe(404);
      expect(bare(hidden.body)).toBe(bare(absent.body));
    }
    const table = await test.ask(TABLE, { animals: [id(1), id(2)] }, stranger.token);
    expect(table.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });

  it('asks for no more statements for thirty descendants than for five', async () => {
    const own = await world.taxon();
    const damId = await world.animal(keeper, own, { sex: 'female' });
    for (let k = 0; k < 30; k++) await world.animal(keeper, own, { damId, name: `Young ${k}` });
    await page({ id: damId, first: 5 }); // the pedigree is in memory now
    const few = await statementsOf(() => page({ id: damId, first: 5 }));
    let many: Descendant[] = [];
    const statements = await statementsOf(async () => {
      many = await nodes({ id: damId, first: 30 });
    });
    expect(many).toHaveLength(30);
    expect(statements.length).toBe(few.length);
    expect(statements.length).toBeLessThanOrEqual(6);
  });
});

/** Dorcas gazelles: López-Cortegano et al. 2021, Heredity; founder contributions by independent programs (expected/founders_dorcas.csv). */
describeWithReference('descendants of the founders of 1,279 gazelles, through the registry', () => {
  let test: TestApp;
  let world: RegistryWorld;
  const keepers: TestKeeper[] = [];
  beforeAll(async () => {
    test = await startTestApp();
    world = new RegistryWorld(test);
    for (let i = 0; i < 3; i++) keepers.push(await world.keeper(`Keeper ${i}`));
    const clubId = await world.club(...keepers);
    const taxon = ['--taxon', 'Gazella dorcas', '--taxon-order', 'Artiodactyla', '--taxon-class', 'Mammalia'];
    const options = ['--register-into', `club-${clubId}`, ...taxon];
    const output = { stdout: () => undefined, stderr: (text: string) => process.stderr.write(text) };
    expect(await registerInto([referencePath('pedigrees/dorcas.csv'), ...options], output, test.databaseUrl)).toBe(0);
  }, 180_000);
  afterAll(async () => {
    await world.close();
    await test.close();
  });

  it('have shares whose mean over the reference group is the founder’s contribution', async () => {
    const marks = await world.db.animalMark.findMany({ select: { animalId: true, value: true } });
    const idOf = new Map(marks.map(({ animalId, value }) => [value, animalId]));
    const group = referenceTable('pedigrees/dorcas.csv').flatMap(({ id, refpop }) =>
      refpop === '1' ? [idOf.get(id ?? '')] : [],
    );
    expect(group.length).toBeGreaterThan(200);
    const expected = referenceTable('expected/founders_dorcas.csv').slice(0, 3);
    expect(expected).toHaveLength(3);
    for (const { founder, contribution } of expected) {
      const shares = new Map<string, number>();
      let after: string | null = null;
      do {
        const { animal }: Page = await test.get<Page>(
          DESCENDANTS,
          { id: idOf.get(founder ?? ''), generations: 20, first: 100, after },
          keepers[0]?.token,
        );
        for (const { node } of animal.descendants.edges) shares.set(node.animal?.id ?? '', node.share);
        after = animal.descendants.pageInfo.hasNextPage ? animal.descendants.pageInfo.endCursor : null;
      } while (after !== null);
      const mean = group.reduce((sum, id) => sum + (shares.get(id ?? '') ?? 0), 0) / group.length;
      expect(mean).toBeCloseTo(Number(contribution), 9);
    }
  });
});
