import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { registerInto } from '../../apps/pedigree/src/register-into.js';
import { describeWithReference, referencePath, referenceTable } from '../external/reference-folder.js';
import { askPedigree, withFile } from '../external/pedigree-command.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

type Option = {
  place: number;
  offspringInbreeding: number;
  meanKinship: number;
  knownAncestry: number;
  grownUp: string;
  distance: string;
  reason: string;
  animal: { id: string; name: string | null; holder: { label: string } | null; notes: unknown; birth: unknown };
};
type Mates = {
  mateOptions: {
    options: {
      edges: { cursor: string; node: Option }[];
      pageInfo: { hasNextPage: boolean; endCursor: string | null };
    };
    leftOut: { notAvailable: number; notGrownUp: number };
    population: { size: number; meanKinship: number; geneDiversity: number; asOf: string };
  };
};

const MATES = `query ($id: ID!, $first: Int, $after: String) { mateOptions(animalId: $id, first: $first, after: $after) {
  options { edges { cursor node { place offspringInbreeding meanKinship knownAncestry grownUp distance reason
    animal { id name holder { label } notes { edges { node { text } } } birth { edtf } } } } pageInfo { hasNextPage endCursor } }
  leftOut { notAvailable notGrownUp filteredOut } population { size meanKinship geneDiversity asOf } } }`;

let test: TestApp;
let world: RegistryWorld;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
});
afterAll(async () => {
  await world.close();
  await test.close();
});

const mates = async (id: string, keeper: TestKeeper, more: object = {}) =>
  (await test.get<Mates>(MATES, { id, first: 50, ...more }, keeper.token)).mateOptions;
const ids = (answer: Mates['mateOptions']) => answer.options.edges.map(({ node }) => node.animal.id);
const born = (edtf: string) => ({ birth: { edtf, manner: 'hatched' } });

describe('a mate across collections', () => {
  let asker: TestKeeper;
  let open: TestKeeper;
  let hidden: TestKeeper;
  let unshared: TestKeeper;
  let outsider: TestKeeper;
  let taxonId: string;
  const animals: Record<string, string> = {};

  beforeAll(async () => {
    [asker, open, hidden, unshared, outsider] = [
      await world.keeper('Asker'),
      await world.keeper('Open'),
      await world.keeper('Hidden'),
      await world.keeper('Unshared'),
      await world.keeper('Outsider'),
    ];
    await world.club(asker, open, hidden, unshared);
    await world.db.keeper.update({ where: { id: open.keeperId }, data: { holdingsShown: 'club', region: 'XA-NO' } });
    await world.db.keeper.update({ where: { id: hidden.keeperId }, data: { region: 'XA-NO' } });
    await world.db.keeper.update({ where: { id: unshared.keeperId }, data: { lineageShared: false } });
    taxonId = await world.taxon();
    await world.db.taxon.update({
      where: { id: taxonId },
      data: { profile: { maturityDays: { value: 365, source: 'test' } } },
    });
    const adult = born('2020');
    const sire = await world.animal(asker, taxonId, { name: 'sire', sex: 'male', ...adult });
    const dam = await world.animal(asker, taxonId, { name: 'dam', sex: 'female', ...adult });
    animals['sire'] = sire;
    animals['asked'] = await world.animal(asker, taxonId, {
      name: 'asked',
      sex: 'female',
      sireId: sire,
      damId: dam,
      ...born('2022'),
    });
    animals['brother'] = await world.animal(asker, taxonId, {
      name: 'brother',
      sex: 'male',
      sireId: sire,
      damId: dam,
      ...born('2022'),
    });
    animals['openMale'] = await world.animal(open, taxonId, { name: 'open male', sex: 'male', ...adult });
    animals['hiddenMale'] = await world.animal(hidden, taxonId, { name: 'hidden male', sex: 'male', ...adult });
    animals['unsexed'] = await world.animal(open, taxonId, { name: 'unsexed', ...adult });
    animals['female'] = await world.animal(open, taxonId, { sex: 'female', ...adult });
    animals['young'] = await world.animal(open, taxonId, {
      sex: 'male',
      ...born(new Date().toISOString().slice(0, 10)),
    });
    animals['undated'] = await world.animal(open, taxonId, { sex: 'male' });
    animals['unsharedMale'] = await world.animal(unshared, taxonId, { sex: 'male', ...adult });
    animals['outsideMale'] = await world.animal(outsider, taxonId, { sex: 'male', ...adult });
    animals['otherTaxon'] = await world.animal(open, await world.taxon(), { sex: 'male', ...adult });
    animals['dead'] = await world.animal(open, taxonId, { sex: 'male', ...adult });
    await test.get(
      `mutation ($input: RecordDeathInput!) { recordDeath(input: $input) { animal { id } } }`,
      { input: { animalId: animals['dead'] } },
      open.token,
    );
    animals['promised'] = await world.animal(open, taxonId, { sex: 'male', ...adult });
    await test.get(
      `mutation ($input: OfferTransferInput!) { offerTransfer(input: $input) { transfer { id } } }`,
      {
        input: {
          fromKeeperId: open.keeperId,
          toKeeperId: hidden.keeperId,
          kind: 'gift',
          items: [{ animalId: animals['promised'] }],
        },
      },
      open.token,
    );
    animals['isolated'] = await world.animal(open, taxonId, { sex: 'male', ...adult });
    await test.get(
      `mutation ($input: OpenQuarantineInput!) { openQuarantine(input: $input) { quarantine { id } } }`,
      {
        input: {
          keeperId: open.keeperId,
          name: 'Back room',
          animalIds: [animals['isolated']],
          enteredOn: new Date().toISOString().slice(0, 10),
        },
      },
      open.token,
    );
  });

  it('lists who shares, lives, is grown up, free and not of the same sex; the least related first', async () => {
    const answer = await mates(animals['asked'] ?? '', asker);
    const names = new Map(Object.entries(animals).map(([name, id]) => [id, name]));
    const found = ids(answer).map((id) => names.get(id));
    expect(found.toSorted()).toEqual(['brother', 'hiddenMale', 'openMale', 'sire', 'undated', 'unsexed']);
    expect(found.slice(4).toSorted()).toEqual(['brother', 'sire']);
    expect(answer.options.edges.map(({ node }) => node.place)).toEqual([1, 2, 3, 4, 5, 6]);
    expect(answer.options.edges.map(({ node }) => node.offspringInbreeding)).toEqual([0, 0, 0, 0, 0.25, 0.25]);
    expect(answer.leftOut).toEqual({ notAvailable: 2, notGrownUp: 1, filteredOut: 0 });
    const undated = answer.options.edges.find(({ node }) => node.animal.id === animals['undated'])?.node;
    expect(undated).toMatchObject({ grownUp: 'possible' });
    expect(undated?.reason).toContain('perhaps not grown up yet');
  });

  it('shows a holder who shows holdings, hides one who does not, and gives no region away', async () => {
    const answer = await mates(animals['asked'] ?? '', asker);
    const of = (name: string) => answer.options.edges.find(({ node }) => node.animal.id === animals[name])?.node;
    expect(of('openMale')?.animal).toMatchObject({ holder: { label: 'Open' }, name: null, notes: null, birth: null });
    expect(of('hiddenMale')?.animal).toMatchObject({ holder: null, name: null });
    // Fewer than five hold the line, so even the region of one who shows holdings is not compared.
    expect(answer.options.edges.map(({ node }) => node.distance)).toEqual(Array(6).fill('not_shown'));
    expect(JSON.stringify(answer)).not.toMatch(/XA-NO|Hidden/);
  });

  it('pages without losing or repeating one', async () => {
    const all = ids(await mates(animals['asked'] ?? '', asker));
    const paged: string[] = [];
    let after: string | null = null;
    do {
      const page = await mates(animals['asked'] ?? '', asker, { first: 2, after });
      paged.push(...ids(page));
      after = page.options.pageInfo.hasNextPage ? page.options.pageInfo.endCursor : null;
    } while (after !== null);
    expect(paged).toEqual(all);
  });

  it('is no answer for an animal that is not the viewer’s, whether it is seen or not', async () => {
    for (const id of [animals['openMale'], animals['unsharedMale'], '01900000-0000-7000-8000-000000000000']) {
      const { errors } = await test.ask(MATES, { id }, asker.token);
      expect(errors?.[0]).toMatchObject({
        message: 'No animal with this id is visible to you.',
        extensions: { code: 'NOT_FOUND' },
      });
    }
  });

  it('is refused for a lot and for the dead, with a remedy', async () => {
    const lot = await world.lot(asker, taxonId, 5);
    const dead = await world.animal(asker, taxonId, { sex: 'male' });
    await test.get(
      `mutation ($input: RecordDeathInput!) { recordDeath(input: $input) { animal { id } } }`,
      { input: { animalId: dead } },
      asker.token,
    );
    for (const id of [lot, dead]) {
      const { errors } = await test.ask(MATES, { id }, asker.token);
      expect(errors?.[0]?.extensions).toMatchObject({ code: 'INVALID_INPUT', fields: [{ path: 'animalId' }] });
    }
  });

  it('an animal is as related to its sire as the textbook says, in words too', async () => {
    const query = `query ($a: ID!, $b: ID!) { relationship(a: $a, b: $b) { kinship words knownAncestry } }`;
    const { relationship } = await test.get<{ relationship: object }>(
      query,
      { a: animals['asked'], b: animals['sire'] },
      asker.token,
    );
    expect(relationship).toEqual({
      kinship: 0.25,
      words: 'daughter and sire',
      knownAncestry: 0, // nobody here is declared a founder
    });
    const unseen = await test.ask(query, { a: animals['asked'], b: animals['outsideMale'] }, asker.token);
    expect(unseen.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
  });
});

/** Dorcas gazelles: López-Cortegano et al. 2021, Heredity (data set of shared/reference). */
describeWithReference('mates on a real pedigree', () => {
  it('have the numbers of the pedigree command on the same animals', async () => {
    const keepers: TestKeeper[] = [];
    for (let i = 0; i < 20; i += 1) keepers.push(await world.keeper(`Keeper ${i}`));
    const clubId = await world.club(...keepers);
    const file = referencePath('pedigrees/dorcas.csv');
    const output = { stdout: () => undefined, stderr: (text: string) => process.stderr.write(text) };
    expect(
      await registerInto(
        [
          file,
          '--register-into',
          `club-${clubId}`,
          '--taxon',
          'Gazella dorcas',
          '--taxon-order',
          'Artiodactyla',
          '--taxon-class',
          'Mammalia',
        ],
        output,
        test.databaseUrl,
      ),
    ).toBe(0);

    const rows = await world.db.animal.findMany({
      where: { taxon: { scientificName: 'Gazella dorcas' } },
      include: { marks: true, custody: true },
    });
    const numberOf = new Map(rows.map((row) => [row.id, row.marks[0]?.value ?? '']));
    const asked = rows.find(
      (row) => row.fate === 'alive' && row.sex === 'female' && row.custody.some((stay) => stay.validTo === null),
    );
    const keeper = keepers.find(({ keeperId }) => asked?.custody.some((stay) => stay.keeperId === keeperId));
    if (asked === undefined || keeper === undefined) throw new Error('no living female in the data set');
    const answer = await mates(asked.id, keeper);

    const alive = new Set(rows.filter((row) => row.fate === 'alive').map((row) => numberOf.get(row.id)));
    const table = referenceTable('pedigrees/dorcas.csv');
    const csv = [
      'id,sire,dam,sex,living',
      ...table.map((row) =>
        [row['id'], row['sire'], row['dam'], row['sex'], alive.has(row['id'] ?? '') ? 1 : 0].join(','),
      ),
    ].join('\n');
    const pairs = answer.options.edges.flatMap(({ node }) => [
      '--pair',
      `${numberOf.get(asked.id) ?? ''},${numberOf.get(node.animal.id) ?? ''}`,
    ]);
    const report = withFile(csv, (path) => askPedigree(path, '--reference', 'living=1', ...pairs));

    expect(answer.options.edges.length).toBe(50);
    expect(answer.population.size).toBe(report.population?.['size']);
    expect(answer.population.meanKinship).toBeCloseTo(report.population?.['meanKinship'] ?? -1, 10);
    expect(answer.population.geneDiversity).toBeCloseTo(report.population?.['geneDiversity'] ?? -1, 10);
    for (const [i, { node }] of answer.options.edges.entries()) {
      expect(node.offspringInbreeding).toBeCloseTo(report.pairs?.[i]?.kinship ?? -1, 10);
      expect(node.meanKinship).toBeCloseTo(report.meanKinship[numberOf.get(node.animal.id) ?? ''] ?? -1, 10);
    }
  }, 120_000);
});
