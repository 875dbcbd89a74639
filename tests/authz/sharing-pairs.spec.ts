import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { seededRandom } from '../../apps/bench/src/herd.js';
import { pairsIn, pairsOf } from '../support/pairwise.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { cannotBe, DIMENSIONS, sharingCells } from '../support/sharing-cells.js';
import { fetched, type Fetched, oracle, type Shown, transferShown } from '../support/sharing-oracle.js';
import { policyOf } from '../support/sharing-policy.js';
import { type Built, SharingWorld } from '../support/sharing-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/**
 * Every role × relation × club × office × state × sharing at three levels, so that each two values that go together meet in some
 * animal: what the API shows an account, field group by field group and file by file, is what a second account of the rules says
 * (tests/support/sharing-oracle.ts), which knows nothing of the program.
 */

let test: TestApp;
let world: RegistryWorld;
let stranger: TestKeeper;
let built: readonly Built[] = [];
const cells = sharingCells(seededRandom(Number(process.env['FAST_CHECK_SEED'] ?? 7)));

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  const sharing = await SharingWorld.open(test, world);
  stranger = await world.keeperInRows('Stranger');
  built = await sharing.build(cells);
  await sharing.settle();
}, 900_000);
afterAll(async () => {
  await world.close();
  await test.close();
});

type List = { edges: { node: { text: string; grams: number } }[] } | null;
type AnimalAnswer = {
  viewerLevel: string;
  registerNumber: string;
  taxon: object | null;
  parentage: object[];
  name: string | null;
  count: number | null;
  birth: object | null;
  fate: string | null;
  marks: object[] | null;
  weights: List;
  notes: List;
  holder: object | null;
  quarantine: object | null;
  documents: { edges: object[] } | null;
  factHistory: object | null;
  markHistory: object | null;
  parentageHistory: object | null;
  guests: object | null;
  sharing: object | null;
  collection: object | null;
  ownership: { own: { parts: number; of: number } | null; others: number; disputed: boolean } | null;
  files: object[];
};

const ANIMAL = `query ($id: ID!) { animal(id: $id) { viewerLevel registerNumber taxon { id } parentage { role } name count fate
  birth { edtf } marks { id } weights { edges { node { grams } } } notes { edges { node { text } } } holder { label }
  quarantine { until } documents { edges { cursor } } factHistory { edges { cursor } } markHistory { edges { cursor } }
  parentageHistory { edges { cursor } } guests { edges { cursor } } sharing { lineageShared } collection { id }
  ownership { own { parts of } others disputed } files { id } } }`;

const HIDDEN = oracle({ ...(cells[0] as (typeof cells)[0]), role: 'left' });

/** Groups of fields that are shown or withheld together: all of one, or the names of those that differ. */
function together(fields: Record<string, unknown>): boolean | string {
  const shown = Object.keys(fields).filter((name) => fields[name] !== null);
  if (shown.length === 0) return false;
  return shown.length === Object.keys(fields).length ? true : `only ${shown.join(', ')}`;
}

function ownershipWords(shown: AnimalAnswer['ownership']): string | null {
  if (shown === null) return null;
  const { own, others, disputed } = shown;
  const share = own === null ? 'none of it' : own.parts === own.of ? 'all of it' : `${own.parts} of ${own.of}`;
  return [share, ...(others > 0 ? [`${others} other`] : []), ...(disputed ? ['disputed'] : [])].join(', ');
}

async function shownTo(token: string, id: string): Promise<object> {
  const { data, errors } = await test.ask<{ animal: AnimalAnswer }>(ANIMAL, { id }, token);
  if (data === null) return errors?.[0]?.extensions.code === 'NOT_FOUND' ? HIDDEN : { errors };
  const { viewerLevel: level, registerNumber, taxon, parentage, name, count, birth, fate, ...rest } = data.animal;
  const { factHistory, markHistory, parentageHistory, guests, sharing } = rest;
  return {
    level,
    identity: registerNumber !== '' && taxon !== null,
    lineage: parentage.length,
    record: together({ name, count, birth, fate, markHistory }),
    marks: rest.marks?.length ?? null,
    weights: rest.weights?.edges.map(({ node }) => node.grams).toSorted((a, b) => a - b) ?? null,
    notes: rest.notes?.edges.map(({ node }) => node.text).toSorted() ?? null,
    holder: rest.holder !== null,
    quarantine: rest.quarantine !== null,
    documents: rest.documents?.edges.length ?? null,
    workings: together({ factHistory, parentageHistory, guests, sharing }),
    collection: rest.collection !== null,
    ownership: ownershipWords(rest.ownership),
    files: rest.files.length,
  } satisfies { [K in keyof Shown]: unknown };
}

async function fetchedBy(token: string, each: Built): Promise<Fetched> {
  const { animalId, fileId, documentId, documentFileId, clutchId } = each;
  const document = 'query ($id: ID!) { clutch(id: $id) { id } }';
  const clutch = clutchId === null ? null : (await test.ask<object>(document, { id: clutchId }, token)).data;
  const status = async (path: string): Promise<number> =>
    (
      await test
        .http()
        .get(path)
        .set({ authorization: `Bearer ${token}` })
    ).status;
  return {
    picture: await status(`/animals/${animalId}/files/${fileId}`),
    original: await status(`/animals/${animalId}/files/${fileId}/original`),
    documentFile: await status(`/documents/${documentId}/files/${documentFileId}`),
    pack: await status(`/animals/${animalId}/record.zip`),
    clutch: clutch === null ? 404 : 200,
  };
}

async function transferTo(token: string, id: string | null): Promise<string> {
  if (id === null) return 'no transfer';
  const document = 'query ($id: ID!) { transfer(id: $id) { price { minor } } }';
  const { data, errors } = await test.ask<{ transfer: { price: object | null } }>(document, { id }, token);
  if (data === null) return errors?.[0]?.extensions.code === 'NOT_FOUND' ? 'hidden' : JSON.stringify(errors);
  return data.transfer.price === null ? 'without price' : 'with price';
}

it('has each two values that go together in some animal', () => {
  const met = new Set(built.flatMap(({ cell }) => pairsIn(cell)));
  const missing = [...pairsOf(DIMENSIONS, cannotBe)].filter((pair) => !met.has(pair));
  expect(missing).toEqual([]);
  for (const [name, values] of Object.entries(DIMENSIONS))
    for (const value of values)
      expect([name, value, built.some(({ cell }) => cell[name as keyof typeof DIMENSIONS] === value)]).toEqual([
        name,
        value,
        true,
      ]);
});

it('has a pure policy that says the same', () => {
  for (const cell of cells) {
    const expected = oracle(cell);
    expect([cell, { ...expected, ...policyOf(cell) }]).toEqual([cell, expected]);
  }
});

it('shows of every animal what a second account of the rules says', async () => {
  const unlike: object[] = [];
  const levels = new Map<string, number>();
  for (const { cell, animalId, observer } of built) {
    const expected = oracle(cell);
    levels.set(expected.level, (levels.get(expected.level) ?? 0) + 1);
    const shown = await shownTo(observer.token, animalId);
    const differs = Object.entries(expected).filter(
      ([name, value]) => JSON.stringify(value) !== JSON.stringify((shown as Record<string, unknown>)[name]),
    );
    if (differs.length > 0)
      unlike.push({ cell: Object.values(cell).join(' '), expected: Object.fromEntries(differs), shown });
  }
  expect(unlike).toEqual([]);
  for (const level of ['full', 'offered', 'guest', 'past', 'club', 'none'])
    expect([level, (levels.get(level) ?? 0) > 2]).toEqual([level, true]);
}, 600_000);

it('gives out every picture, paper, pack and clutch as it says', async () => {
  const unlike: object[] = [];
  for (const each of built) {
    const [expected, answered] = [fetched(each.cell), await fetchedBy(each.observer.token, each)];
    if (JSON.stringify(expected) !== JSON.stringify(answered))
      unlike.push({ cell: Object.values(each.cell).join(' '), expected, answered });
  }
  expect(unlike).toEqual([]);
}, 600_000);

it('shows a transfer to its sides alone, and its price to who decides for one', async () => {
  const unlike: object[] = [];
  for (const { cell, transferId, observer } of built) {
    const [expected, answered] = [transferShown(cell), await transferTo(observer.token, transferId)];
    if (expected !== answered) unlike.push({ cell: Object.values(cell).join(' '), expected, answered });
  }
  expect(unlike).toEqual([]);
}, 600_000);

it('shows a stranger nothing of any', async () => {
  for (const each of built) {
    expect([each.cell, await shownTo(stranger.token, each.animalId)]).toEqual([each.cell, HIDDEN]);
    const nothing = { picture: 404, original: 404, documentFile: 404, pack: 404, clutch: 404 };
    expect([each.cell, await fetchedBy(stranger.token, each)]).toEqual([each.cell, nothing]);
    if (each.transferId !== null) expect(await transferTo(stranger.token, each.transferId)).toBe('hidden');
  }
}, 600_000);
