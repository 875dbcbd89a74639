import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { registerInto } from '../../apps/pedigree/src/register-into.js';
import { describeWithReference, referencePath, referenceTable } from '../external/reference-folder.js';
import { groupRows } from '../../libs/taxon/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

const TAXON = ['--taxon', 'Gazella dorcas', '--taxon-order', 'Artiodactyla', '--taxon-class', 'Mammalia'];

/** d is a full sibling of e; f comes of them. x has no line. m is recorded as the wrong sex, n and y as younger than their child. */
const FILE = `id,sire,dam,sex,birth,status,death
a,,,M,2001-04-03,dead,2010-05
b,,,F,2002,dead,
d,a,b,M,2005,living,
e,a,b,F,2005-06,,
f,d,e,H,2015-01-01,sold,
g,f,x,F,spring,,
m,,,F,,,
n,m,,M,2019,,
y,,,F,2020,,
z,n,y,F,2018,,
`;

type Found = {
  id: string;
  registerNumber: string;
  viewerLevel: string;
  sex: string;
  fate: string | null;
  count: number | null;
  birth: { edtf: string } | null;
  marks: { kind: string; value: string }[] | null;
  notes: { edges: { node: { text: string } }[] } | null;
  holder: { label: string } | null;
  sire: { id: string } | null;
  dam: { id: string } | null;
  ancestors: { path: string; shown: boolean; animal: { id: string } | null }[];
  inbreeding: { value: number };
};
const ANIMAL = `query ($id: ID) { animal(id: $id) { id registerNumber viewerLevel sex fate count birth { edtf }
  marks { kind value } notes { edges { node { text } } } holder { label } sire { id } dam { id }
  ancestors(generations: 2) { path shown animal { id } } inbreeding { value } } }`;

describe('a pedigree file in the registry', () => {
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

  const load = async (file: string, club: string, ...options: string[]) => {
    const call = { exitCode: -1, stdout: '', stderr: '' };
    const output = {
      stdout: (text: string) => (call.stdout += text),
      stderr: (text: string) => (call.stderr += text),
    };
    call.exitCode = await registerInto([file, '--register-into', club, ...options], output, test.databaseUrl);
    return call;
  };
  const clubOf = async (...members: TestKeeper[]): Promise<{ id: string; slug: string }> => {
    const id = await world.club(...members);
    return { id, slug: `club-${id}` };
  };
  const read = async (id: string, token: string): Promise<Found> =>
    (await test.get<{ animal: Found }>(ANIMAL, { id }, token)).animal;
  /** Ids and keepers by the number in the file, of what one load registered. */
  const loaded = async (clubId: string): Promise<Map<string, { id: string; keeperId: string | null }>> => {
    const [entry] = await world.db.ledgerEntry.findMany({
      where: { action: 'exchange.pedigree-registered', subjects: { has: clubId } },
    });
    const marks = await world.db.animalMark.findMany({
      where: { kind: 'own_number', animalId: { in: entry?.subjects ?? [] } },
      include: { animal: { include: { custody: true } } },
    });
    return new Map(
      marks.map((mark) => [
        mark.value,
        { id: mark.animalId, keeperId: mark.animal.custody.map((period) => period.keeperId)[0] ?? null },
      ]),
    );
  };
  const counts = async () => [await world.db.animal.count(), await world.db.ledgerEntry.count()];

  it('becomes records with facts, parents, holders and owners, and what does not fit becomes a note', async () => {
    const keepers = [await world.keeper('One'), await world.keeper('Two')];
    const club = await clubOf(...keepers);
    const call = await withFile(FILE, (path) => load(path, club.slug, ...TAXON));
    expect(call).toMatchObject({ exitCode: 0, stderr: '' });
    expect(call.stdout).toContain('Registered: 11 animals of Gazella dorcas with 2 keepers');
    expect(call.stdout).toContain('the sex of "m" does not fit its relatives: kept as a note');
    const all = await loaded(club.id);
    expect([...all.keys()].toSorted()).toEqual(['a', 'b', 'd', 'e', 'f', 'g', 'm', 'n', 'x', 'y', 'z']);
    const tokenOf = new Map(keepers.map((keeper) => [keeper.keeperId, keeper.token]));
    const animal = (name: string): Promise<Found> => {
      const { id, keeperId } = all.get(name) ?? { id: '', keeperId: null };
      return read(id, tokenOf.get(keeperId ?? '') ?? '');
    };
    const notes = async (name: string) => (await animal(name)).notes?.edges.map(({ node }) => node.text);

    const f = await animal('f');
    expect(f).toMatchObject({
      viewerLevel: 'full',
      sex: 'unknown',
      fate: 'alive',
      count: 1,
      birth: { edtf: '2015-01-01' },
    });
    expect(f.inbreeding.value).toBeCloseTo(0.25, 12);
    expect(f.marks).toEqual([{ kind: 'own_number', value: 'f' }]);
    expect(f.ancestors.map(({ path, animal: ancestor }) => [path, ancestor?.id])).toEqual(
      [
        ['s', 'd'],
        ['d', 'e'],
        ['ss', 'a'],
        ['sd', 'b'],
        ['ds', 'a'],
        ['dd', 'b'],
      ].map(([path, name]) => [path, all.get(name ?? '')?.id]),
    );
    expect((await notes('f'))?.toSorted()).toEqual([
      'The file gives its sex as "H".',
      'The file gives its status as "sold".',
    ]);
    expect(await animal('a')).toMatchObject({ sex: 'male', fate: 'dead', count: 0, holder: null });
    expect(await animal('m')).toMatchObject({ sex: 'unknown' });
    expect(await notes('g')).toEqual(['The file gives its birth as "spring".']);
    expect([(await animal('n')).birth, (await animal('y')).birth?.edtf]).toEqual([null, '2020']);
    expect(await notes('z')).toEqual(['The file gives its birth as "2018", which does not fit its relatives.']);
    // Full siblings are one family and go to one keeper.
    expect(all.get('d')?.keeperId).toBe(all.get('e')?.keeperId);
    // A parent without a line: in the pedigree, with nobody.
    expect(all.get('x')?.keeperId).toBeNull();
    expect((await animal('g')).ancestors.find(({ path }) => path === 'd')).toEqual({
      path: 'd',
      shown: false,
      animal: null,
    });
    const periods = await world.db.custody.findMany({ where: { animalId: all.get('a')?.id ?? '' } });
    expect(periods.map((row) => [row.validFrom, row.validTo, row.arrivedBy, row.leftBy])).toEqual([
      [new Date('2001-04-03'), new Date('2010-05-31'), 'born', 'died'],
    ]);
    const owned = await world.db.ownership.findMany({
      where: { animalId: { in: [...all.values()].map(({ id }) => id) } },
      include: { shares: true },
    });
    expect(owned.map(({ shares }) => shares.length)).toEqual(Array(10).fill(1));
    const { stockBook } = await test.get<{ stockBook: { unaccounted: number; closing: number } }>(
      `query ($k: ID!) { stockBook(keeperId: $k, from: "1990-01-01", asOf: "2100-01-01") { unaccounted closing } }`,
      { k: keepers[0]?.keeperId },
      keepers[0]?.token,
    );
    expect(stockBook.unaccounted).toBe(0);
    expect(stockBook.closing).toBeGreaterThan(0);
    const [entry] = await world.db.ledgerEntry.findMany({ where: { subjects: { has: all.get('f')?.id ?? '' } } });
    expect(entry?.body).not.toContain('spring');
  });

  it('is loaded once, whatever the order of its lines; another club may load it too', async () => {
    const club = await clubOf(await world.keeper('Three'));
    const other = await clubOf(await world.keeper('Four'));
    const text = 'id,sire,dam,sex\np,,,M\nq,,,F\nr,p,q,F\n';
    expect((await withFile(text, (path) => load(path, club.slug, ...TAXON))).exitCode).toBe(0);
    const before = await counts();
    const turned = await withFile('id;dam;sire;sex\nr;q;p;F\nq;;;F\np;;;M\n', (path) =>
      load(path, club.slug, ...TAXON),
    );
    expect(turned.exitCode).toBe(2);
    expect(turned.stdout).toBe('');
    expect(turned.stderr).toMatch(/^These animals were registered with the club .* Nothing was written/);
    expect(await counts()).toEqual(before);
    expect((await withFile(text, (path) => load(path, other.slug, ...TAXON, '--json'))).exitCode).toBe(0);
  });

  it.each([
    ['a cycle', 'id,sire,dam\na,b,\nb,a,\n', TAXON, /^Refused: .*a loop/],
    ['its own parent', 'id,sire,dam\na,a,\n', TAXON, /^Refused: "a" is entered as its own sire/],
    ['differing lines', 'id,sire,dam,sex\na,,,M\na,,,F\n', TAXON, /^Refused: .*different entries/],
    ['a birth to come', 'id,sire,dam,birth\na,,,2999\n', TAXON, /^"a": its birth or death is still to come/],
    ['no taxon', 'id,sire,dam\na,,\n', [], /needs the taxon/],
    [
      'an unknown taxon',
      'id,sire,dam\na,,\n',
      ['--taxon', 'Rana nova'],
      /does not know the taxon .*--taxon-order and --taxon-class/,
    ],
  ])('is refused for %s, with nothing written', async (_, text, options, message) => {
    const { slug } = await clubOf(await world.keeper('Five'));
    const before = await counts();
    const call = await withFile(text, (path) => load(path, slug, ...options));
    expect(call.exitCode).toBe(2);
    expect(call.stderr).toMatch(message);
    expect(call.stderr.trim().split('\n')).toHaveLength(1);
    expect(await counts()).toEqual(before);
  });

  it('is refused for a club that is not there, with the names of others', async () => {
    const call = await withFile('id,sire,dam\na,,\n', (path) => load(path, 'nowhere', ...TAXON));
    expect([call.exitCode, call.stderr]).toEqual([
      2,
      expect.stringMatching(/There is no club "nowhere". Name one of: club-/),
    ]);
  });

  // Source: pedigree of the dorcas gazelle with F, from the reference folder (see its README).
  describeWithReference('the dorcas pedigree over 24 keepers', () => {
    it('gives the published F and parents through the API, and a third keeper only what sharing allows', async () => {
      const keepers: TestKeeper[] = [];
      for (let i = 0; i < 24; i += 1) keepers.push(await world.keeper(`Gazelle house ${i}`));
      const stranger = await world.keeper('Stranger');
      const club = await clubOf(...keepers);
      const call = await load(referencePath('pedigrees/dorcas.csv'), club.slug, ...TAXON, '--json');
      expect(call).toMatchObject({ exitCode: 0, stderr: '' });
      const { registered } = JSON.parse(call.stdout) as {
        registered: { animals: number; keepers: number; milliseconds: number };
      };
      process.stderr.write(`dorcas registered in ${Math.round(registered.milliseconds)} ms\n`);
      expect(registered).toMatchObject({ animals: 1279, keepers: 24, setAside: [] });

      const all = await loaded(club.id);
      const held = groupRows([...all.values()], ({ keeperId }) => keeperId ?? '');
      expect(Math.min(...[...held.values()].map((each) => each.length))).toBeGreaterThan(10);
      const rows = referenceTable('expected/F_dorcas.csv');
      const sample = rows.filter((_, i) => i % Math.floor(rows.length / 50) === 0).slice(-50);
      expect(sample.filter((row) => Number(row['F']) > 0).length).toBeGreaterThan(10);
      const parents = new Map(referenceTable('pedigrees/dorcas.csv').map((row) => [row['id'], row]));
      for (const row of sample) {
        const { id, keeperId } = all.get(row['id'] ?? '') ?? { id: '', keeperId: null };
        const animal = await read(id, keepers.find((keeper) => keeper.keeperId === keeperId)?.token ?? '');
        expect(animal.inbreeding.value).toBeCloseTo(Number(row['F']), 9);
        const idOf = (name: string | undefined) => (name ? (all.get(name)?.id ?? 'missing') : undefined);
        expect([animal.sire?.id, animal.dam?.id]).toEqual([
          idOf(parents.get(row['id'])?.['sire']),
          idOf(parents.get(row['id'])?.['dam']),
        ]);
        expect(animal.ancestors.every(({ shown }) => shown)).toBe(true);
      }

      const last = [...all.values()].at(-1) ?? { id: '', keeperId: null };
      const mate = keepers.find((keeper) => keeper.keeperId !== last.keeperId);
      expect(await read(last.id, mate?.token ?? '')).toMatchObject({
        viewerLevel: 'club',
        fate: null,
        count: null,
        birth: null,
        marks: null,
        notes: null,
        holder: null,
      });
      const hidden = await test.ask(ANIMAL, { id: last.id }, stranger.token);
      expect(hidden.errors?.[0]?.extensions.code).toBe('NOT_FOUND');
    }, 120_000);
  });
});

/** Writes a file for one load and removes it again. */
async function withFile<T>(text: string, use: (path: string) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'kithbook-exchange-'));
  try {
    const path = join(folder, 'animals.csv');
    writeFileSync(path, text);
    return await use(path);
  } finally {
    rmSync(folder, { recursive: true });
  }
}
