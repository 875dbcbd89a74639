import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { type HiddenWorld, makeHiddenWorld } from '../support/hidden-world.js';
import { kindsOf } from '../support/query-count.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

/**
 * Files and papers of others answer as those that do not exist, after the same statements; for the keeper who has them some of
 * the same addresses answer, so that it is the viewer who makes the difference.
 */

let test: TestApp;
let world: RegistryWorld;
let viewer: TestKeeper;
let hidden: HiddenWorld;

beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  hidden = await makeHiddenWorld(test, world);
  viewer = await world.keeper('Viewer');
}, 120_000);
afterAll(async () => {
  await world.close();
  await test.close();
});

const idsOf = (table: string): readonly string[] => hidden.ids.get(table) ?? [];

/** Every address with an id: method, and the path with the ids of a record of others or of nothing. */
const ADDRESSES: readonly (readonly ['GET' | 'PUT', string, (...ids: string[]) => string, readonly string[]])[] = [
  ['GET', 'file', (id, file) => `/animals/${id}/files/${file}`, ['animal', 'animal_file']],
  ['GET', 'thumbnail', (id, file) => `/animals/${id}/files/${file}/thumbnail`, ['animal', 'animal_file']],
  ['GET', 'original', (id, file) => `/animals/${id}/files/${file}/original`, ['animal', 'animal_file']],
  ['PUT', 'new file', (id) => `/animals/${id}/files`, ['animal']],
  ['GET', 'document file', (id, file) => `/documents/${id}/files/${file}`, ['holding_document', 'document_file']],
  ['PUT', 'new document file', (id) => `/documents/${id}/files`, ['holding_document']],
  ['GET', 'pack', (id) => `/animals/${id}/record.zip`, ['animal']],
  ['GET', 'pack of a transfer', (id) => `/transfers/${id}/record.zip`, ['transfer']],
  ['GET', 'paper', (id) => `/transfers/${id}/record.pdf`, ['transfer']],
  ['GET', 'hand-over drawing', (id) => `/transfers/${id}/hand-over.svg`, ['transfer']],
  ['GET', 'hand-over picture', (id) => `/transfers/${id}/hand-over.png`, ['transfer']],
  ['GET', 'arrival picture', (id, file) => `/transfers/${id}/arrival-photos/${file}`, ['transfer', 'animal_file']],
  ['GET', 'pedigree', (id) => `/animals/${id}/pedigree.svg`, ['animal']],
  ['GET', 'kinship', (id, other) => `/kinship.svg?animals=${id},${other}`, ['animal', 'animal']],
];

/** Ids of a record of others that belong together where two are named: the file is one of the animal's or the document's. */
async function idSets(tables: readonly string[]): Promise<string[][]> {
  const { db } = world;
  const [first, second] = tables;
  if (second === undefined) return idsOf(first ?? '').map((id) => [id]);
  if (first === 'animal' && second === 'animal') return [[...idsOf('animal').slice(0, 2)]];
  if (first === 'animal') return (await db.animalFile.findMany()).map(({ animalId, id }) => [animalId, id]);
  if (first === 'holding_document') return (await db.documentFile.findMany()).map((file) => [file.documentId, file.id]);
  return idsOf(first ?? '').map((id) => [id, idsOf(second)[0] ?? '']);
}

async function answer(method: 'GET' | 'PUT', path: string, ids: readonly string[], token: string) {
  let status = 0;
  let text = '';
  const kinds = await kindsOf(async () => {
    const request = method === 'GET' ? test.http().get(path) : test.http().put(path).send(Buffer.from('%PDF-1.4\n'));
    const sent = await request.set({ authorization: `Bearer ${token}`, 'content-type': 'application/pdf' });
    status = sent.status;
    text = ids.reduce((said, id) => said.replaceAll(id, 'ID'), sent.text ?? '').replace(/"requestId":"[^"]*"/g, '');
  });
  return { status, text, kinds };
}

it.each(ADDRESSES)('%s %s: of others as of nothing, after the same statements', async (method, name, path, tables) => {
  const sets = await idSets(tables);
  expect([name, sets.length > 0, sets.every((ids) => ids.length === tables.length && !ids.includes(''))]).toEqual([
    name,
    true,
    true,
  ]);
  const absent = tables.map(() => uuid());
  const nothing = await answer(method, path(...absent), absent, viewer.token);
  expect([name, nothing.status]).toEqual([name, 404]);
  for (const ids of sets) expect(await answer(method, path(...ids), ids, viewer.token)).toEqual(nothing);
});

it('answers the keeper who has them', async () => {
  const [file] = await world.db.animalFile.findMany();
  const [paper] = await world.db.documentFile.findMany();
  const token = hidden.holder.token;
  for (const path of [
    `/animals/${file?.animalId}/files/${file?.id}`,
    `/animals/${file?.animalId}/files/${file?.id}/thumbnail`,
    `/animals/${file?.animalId}/files/${file?.id}/original`,
    `/documents/${paper?.documentId}/files/${paper?.id}`,
    `/animals/${file?.animalId}/pedigree.svg`,
    `/animals/${file?.animalId}/record.zip`,
  ])
    expect([path, (await answer('GET', path, [], token)).status]).toEqual([path, 200]);
});
