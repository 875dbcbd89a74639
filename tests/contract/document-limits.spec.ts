import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { MAX_ALIASES, MAX_DEPTH } from '../../libs/platform/graphql/document-limits.js';
import { startTestApp, type TestApp } from '../support/test-app.js';

let server: TestApp;
beforeAll(async () => {
  server = await startTestApp();
});
afterAll(() => server.close());

const signIn = (n: number) => `a${n}: signIn(input: { email: "a@example.org", password: "x" }) { accessToken }`;
const nested = (depth: number): string => (depth === 0 ? 'name' : `ofType { ${nested(depth - 1)} }`);
const animals =
  'edges { node { id registerNumber sex weights(first: $n) { edges { node { grams } } } notes(first: $n) { edges { node { text } } } } }';

it.each([
  ['a hundred sign-ins under aliases', `mutation { ${Array.from({ length: 100 }, (_, n) => signIn(n)).join(' ')} }`],
  ['two mutations in one operation', `mutation { ${signIn(1)} ${signIn(2)} }`],
  ['two operations', 'query A { me { email } } query B { me { email } }'],
  [
    'more aliases than allowed',
    `{ ${Array.from({ length: MAX_ALIASES + 1 }, (_, n) => `a${n}: me { email }`).join(' ')} }`,
  ],
  [
    'more depth than allowed',
    `query ($id: ID) { animal(id: $id) { ${'sire { '.repeat(MAX_DEPTH)}id${' }'.repeat(MAX_DEPTH)} } }`,
  ],
  ['more tokens than allowed', `{ me { ${'email '.repeat(3000)} } }`],
  [
    'lists in lists with their size in a variable',
    `query ($k: ID!, $n: Int) { myCollection(keeperId: $k, first: $n) { ${animals} } }`,
  ],
])('%s: refused before anything runs, with a requestId', async (_, document) => {
  const { status, errors } = await server.ask(document, { k: '01900000-0000-7000-8000-000000000000', n: 100 });
  expect(status).toBe(400);
  expect(errors?.[0]?.extensions.code).toBe('INVALID_INPUT');
  expect(errors?.[0]?.extensions.requestId).toMatch(/^[0-9a-f-]{36}$/);
});

it('a page of a hundred with everything a list shows is allowed, and so is introspection', async () => {
  const { errors } = await server.ask(
    `query ($k: ID!, $n: Int) { myCollection(keeperId: $k, first: 100) { ${animals} } }`,
    { k: '01900000-0000-7000-8000-000000000000', n: 10 },
  );
  expect(errors?.[0]?.extensions.code).toBe('UNAUTHENTICATED');
  const { status } = await server.ask(`{ __schema { types { name fields { name type { ${nested(6)} } } } } }`);
  expect(status).toBe(200);
});
