import { expect, it } from '@jest/globals';
import { buildSchema, graphqlSync } from 'graphql';
import { variableProblem } from './variable-problem.js';

const schema = buildSchema(`
  input Inner { kind: Kind! count: Int }
  input Outer { on: Int! inner: [Inner!] }
  enum Kind { one two }
  type Query { a(input: Outer, n: Int): Int }`);

/** Paths of the problems in what graphql-js itself says of these variables. */
const pathsOf = (variableValues: Record<string, unknown>) =>
  graphqlSync({
    schema,
    source: 'query ($input: Outer, $n: Int) { a(input: $input, n: $n) }',
    variableValues,
  }).errors?.map(({ message }) => variableProblem(message)?.path);

it.each<[Record<string, unknown>, string[]]>([
  [{ n: 'x' }, ['n']],
  [{ n: 'a; b at "input.on"; c' }, ['n']],
  [{ input: { on: 'x; y' } }, ['input.on']],
  [{ input: {} }, ['input.on']],
  [{ input: { on: 1, more: 2 } }, ['input.more']],
  [
    { input: { on: 1, inner: [{ kind: 'one' }, { kind: 'three', count: 2 ** 40 }] } },
    ['input.inner.1.kind', 'input.inner.1.count'],
  ],
])('the field that does not fit: %j', (variables, paths) => {
  expect(pathsOf(variables)).toEqual(paths);
});

it('a variable left out, a long value, and what is no such message', () => {
  expect(variableProblem('Variable "$id" of required type "ID!" was not provided.')).toMatchObject({ path: 'id' });
  const [said = ''] =
    graphqlSync({
      schema,
      source: 'query ($input: Outer) { a(input: $input) }',
      variableValues: { input: { on: 'x'.repeat(10_000) } },
    }).errors?.map(({ message }) => message) ?? [];
  expect(variableProblem(said)?.message.length).toBeLessThan(400);
  expect(variableProblem('Cannot query field "x" on type "Query".')).toBeNull();
});
