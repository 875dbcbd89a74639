import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { encodeCursor } from '../../libs/kernel/index.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type Answer, startTestApp, type TestApp } from '../support/test-app.js';
import { holdRow } from '../support/transfer-world.js';

let server: TestApp;
let world: RegistryWorld;
let odile: TestKeeper;
let taxonId: string;
let animalId: string;
beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
  odile = await world.keeper('Odile');
  taxonId = await world.taxon();
  animalId = await world.animal(odile, taxonId);
});
afterAll(async () => {
  await world.close();
  await server.close();
});

const codesOf = (answer: Answer<unknown>): string[] => [
  ...new Set((answer.errors ?? []).map(({ extensions }) => extensions.code)),
];

/** Calls a mutation with an input and selects nothing but its type. */
const call = (name: string, input: object, headers: Record<string, string> = {}) => {
  const type = `${name.slice(0, 1).toUpperCase()}${name.slice(1)}Input!`;
  return server.ask(
    `mutation ($input: ${type}) { ${name}(input: $input) { __typename } }`,
    { input },
    odile.token,
    headers,
  );
};

describe.each([
  ['NUL', 'a\0b'],
  ['half of a surrogate pair', 'a\ud800b'],
])('%s in a text', (_, text) => {
  it.each<[string, (text: string) => object, string]>([
    ['recordFact', (name) => ({ animalId, name }), 'input.name'],
    ['recordFact', (words) => ({ animalId, note: { text: words, topic: 'care' } }), 'input.note.text'],
    ['recordEnclosure', (name) => ({ keeperId: odile.keeperId, name }), 'input.name'],
    [
      'registerAnimal',
      (value) => ({ keeperId: odile.keeperId, taxonId, marks: [{ kind: 'ring', value }] }),
      'input.marks.0.value',
    ],
    [
      'offerTransfer',
      (name) => ({ fromKeeperId: odile.keeperId, kind: 'gift', items: [{ animalId }], toOutsideParty: { name } }),
      'input.toOutsideParty.name',
    ],
    ['signIn', (email) => ({ email, password: 'x' }), 'input.email'],
  ])('%s names the field', async (name, input, path) => {
    const { errors } = await call(name, input(text));
    expect(errors?.map(({ extensions }) => extensions)).toMatchObject([{ code: 'INVALID_INPUT', fields: [{ path }] }]);
  });

  it('in a cursor or an id', async () => {
    const after = encodeCursor([text]);
    const page = 'query ($k: ID!, $after: String) { enclosures(keeperId: $k, after: $after) { edges { cursor } } }';
    expect(codesOf(await server.ask(page, { k: odile.keeperId, after }, odile.token))).toEqual(['INVALID_INPUT']);
    expect(codesOf(await server.ask('query ($id: ID) { animal(id: $id) { id } }', { id: text }, odile.token))).toEqual([
      'NOT_FOUND',
    ]);
  });
});

it('a list with more mistakes than are counted is still the sender’s mistake', async () => {
  const marks = Array.from({ length: 200 }, () => ({ kind: 1 }));
  expect(codesOf(await call('registerAnimal', { keeperId: odile.keeperId, taxonId, marks }))).toEqual([
    'INVALID_INPUT',
  ]);
});

it('two long keys that begin alike are two requests', async () => {
  const key = 'k'.repeat(300);
  const input = { keeperId: odile.keeperId, taxonId };
  const before = await world.db.animal.count();
  for (const end of ['a', 'b', 'a']) await call('registerAnimal', input, { 'idempotency-key': key + end });
  expect(await world.db.animal.count()).toBe(before + 2);
});

it.each(['', 'x', '1', '{00000000-0000-4000-8000-000000000000}'])('what is no id (%j) names no animal', async (id) => {
  const variables = { id, other: animalId };
  for (const query of [
    'query ($id: ID!) { mateOptions(animalId: $id) { animal { id } } }',
    'query ($id: ID!, $other: ID!) { relationship(a: $id, b: $other) { words } }',
    'query ($id: ID!, $other: ID!) { relationship(a: $other, b: $id) { words } }',
    'query ($id: ID!) { originFinding(animalId: $id) { __typename } }',
  ])
    expect(codesOf(await server.ask(query, variables, odile.token))).toEqual(['NOT_FOUND']);
});

it.each(['myTransfers', 'notices', 'quarantines'])(
  'a forged cursor of %s with a year the database lacks',
  async (list) => {
    const after = encodeCursor(['0000-01-01T00:00:00.000Z', animalId]);
    const query = `query ($k: ID!, $after: String) { ${list}(keeperId: $k, after: $after) { edges { cursor } } }`;
    expect(codesOf(await server.ask(query, { k: odile.keeperId, after }, odile.token))).toEqual(['INVALID_INPUT']);
  },
);

it('a session of the database that ends in the middle of a request: told so, nothing written, the next one works', async () => {
  const lot = await world.lot(odile, taxonId, 10);
  const death = { animalId: lot, count: 3 };
  const hold = await holdRow(server.databaseUrl, 'animal', lot);
  const broken = call('recordDeath', death);
  await hold.untilWaiting(1);
  await world.db.$queryRaw`
    SELECT pg_terminate_backend(pid)::text FROM pg_stat_activity
    WHERE datname = current_database() AND wait_event_type = 'Lock'`;
  expect(codesOf(await broken)).toEqual(['UNAVAILABLE']);
  await hold.releaseWhenWaiting(0);
  expect(await world.db.animal.findUnique({ where: { id: lot } })).toMatchObject({ count: 10 });
  expect(codesOf(await call('recordDeath', death))).toEqual([]);
  expect(await world.db.animal.findUnique({ where: { id: lot } })).toMatchObject({ count: 7 });
});

it('an offer to oneself is refused however the id is written', async () => {
  const offer = { fromKeeperId: odile.keeperId, kind: 'gift', items: [{ animalId }] };
  const { errors: [error] = [] } = await call('offerTransfer', { ...offer, toKeeperId: odile.keeperId });
  expect(error?.extensions.code).toBe('RULE_REFUSED');
  const again = await call('offerTransfer', { ...offer, toKeeperId: odile.keeperId.toUpperCase() });
  expect(again.errors?.map(({ extensions: { code, rule } }) => ({ code, rule }))).toEqual([
    { code: 'RULE_REFUSED', rule: error?.extensions.rule },
  ]);
});

it('a value of the wrong type names its field', async () => {
  const { errors } = await call('recordDeath', { animalId, on: '2026-02-30' });
  expect(errors?.map(({ extensions }) => extensions)).toMatchObject([
    { code: 'INVALID_INPUT', fields: [{ path: 'input.on', remedy: expect.any(String) }] },
  ]);
});

it.each([
  ['too large', JSON.stringify({ query: '{ me { __typename } }', variables: { x: 'x'.repeat(300_000) } }), 413],
  ['no JSON', '{bad', 400],
])('a body that is %s is refused in the form of every refusal', async (_, body, status) => {
  const answer = await server.http().post('/graphql').set('content-type', 'application/json').send(body);
  expect(answer.status).toBe(status);
  expect(answer.body).toMatchObject({
    errors: [{ extensions: { code: 'INVALID_INPUT', fields: [{ path: 'body', remedy: expect.any(String) }] } }],
  });
});

it('a clutch laid on the first day there is has a proposal of its parents', async () => {
  const damId = await world.animal(odile, taxonId, { sex: 'female' });
  const { recordClutch } = await server.get<{ recordClutch: { clutch: { id: string } } }>(
    'mutation ($input: RecordClutchInput!) { recordClutch(input: $input) { clutch { id } } }',
    { input: { damId, laid: '0001-01-01', eggCount: 2 } },
    odile.token,
  );
  const proposal = 'query ($id: ID!) { parentProposal(clutchId: $id) { __typename } }';
  expect(codesOf(await server.ask(proposal, { id: recordClutch.clutch.id }, odile.token))).toEqual([]);
});
