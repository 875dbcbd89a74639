import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import {
  getNamedType,
  type GraphQLField,
  type GraphQLObjectType,
  type GraphQLOutputType,
  isLeafType,
  isNonNullType,
  isObjectType,
} from 'graphql';
import { pick, randomFrom } from '../fault/random.js';
import { HostileValues } from '../support/hostile-values.js';
import { type HostileWorld, makeHostileWorld } from '../support/hostile-world.js';
import { RegistryWorld, type TestKeeper } from '../support/registry-world.js';
import { type GraphqlError, startTestApp, type TestApp } from '../support/test-app.js';

/**
 * Every query and mutation of the schema, asked with values of the right type that nobody means, by both sides of everything
 * and by a stranger. `HOSTILE_SEED` and `HOSTILE_ROUNDS` ask otherwise and longer.
 */

const SEED = Number(process.env['HOSTILE_SEED'] ?? 20_261_127);
/** Requests an operation gets. */
const ROUNDS = Number(process.env['HOSTILE_ROUNDS'] ?? 5);
/** No answer takes longer; milliseconds. */
const PATIENCE = 5_000;
const HOSTILITY = [0, 0.05, 0.15, 0.5];
/** Operations that would end the sign-ins this test asks with. */
const LEFT_OUT = new Set(['endSession', 'forgetMe']);

let test: TestApp;
let world: RegistryWorld;
let made: HostileWorld;
let stranger: TestKeeper;
beforeAll(async () => {
  test = await startTestApp();
  world = new RegistryWorld(test);
  made = await makeHostileWorld(test, world, new Date().toISOString().slice(0, 10));
  stranger = await world.keeper('Stranger');
}, 120_000);
afterAll(async () => {
  await world.close();
  await test.close();
});

type Operation = { readonly kind: 'query' | 'mutation'; readonly field: GraphQLField<unknown, unknown> };

function operations(): Operation[] {
  const { schema } = test.app.get(GraphQLSchemaHost);
  const of = (kind: Operation['kind'], root: GraphQLObjectType | null | undefined): Operation[] =>
    Object.values(root?.getFields() ?? {}).map((field) => ({ kind, field }));
  return [...of('query', schema.getQueryType()), ...of('mutation', schema.getMutationType())].filter(
    ({ field }) => !LEFT_OUT.has(field.name),
  );
}

/** What is asked back: some fields of the answer, down to `depth` objects. */
function selection(random: () => number, type: GraphQLOutputType, depth: number): string {
  const named = getNamedType(type);
  if (!isObjectType(named)) return '';
  const fields = Object.values(named.getFields()).filter(
    ({ args, type: of }) => !args.some((arg) => isNonNullType(arg.type)) && (isLeafType(getNamedType(of)) || depth > 0),
  );
  const few = fields.filter((field) => isLeafType(getNamedType(field.type)) || random() < 0.25);
  return ` { __typename ${few.map(({ name, type: of }) => name + selection(random, of, depth - 1)).join(' ')} }`;
}

/** What is wrong with an answer, or null. */
function faultOf(status: number, errors: readonly GraphqlError[], took: number): string | null {
  if (took > PATIENCE) return `took ${took} ms`;
  if (![200, 400, 413].includes(status)) return `status ${status}`;
  if (errors.some(({ extensions }) => extensions.code === 'INTERNAL')) return 'INTERNAL';
  const unsound = errors.filter(({ extensions }) => extensions.code === 'INVALID_INPUT');
  const fields = unsound.flatMap(({ extensions }) => extensions.fields);
  if (unsound.length > 0 && fields.length === 0) return `no field named: ${unsound[0]?.message}`;
  return fields.some(({ path }) => path === '') ? `an empty path: ${JSON.stringify(fields)}` : null;
}

it(
  `answers every operation soundly, whatever it is given (seed ${SEED})`,
  async () => {
    const random = randomFrom(SEED);
    const values = new HostileValues(random, made.known, new Date().toISOString().slice(0, 10));
    const senders = [made.one, made.one, made.other, made.other, stranger, { token: undefined }];
    const all = operations();
    const faults = new Map<string, object>();
    const codes = new Map<string, Set<string>>();
    let asked = 0;
    for (let round = 0; round < ROUNDS; round += 1)
      for (const { kind, field } of all) {
        const heads = field.args.map((arg) => `$${arg.name}: ${String(arg.type)}`).join(', ');
        const passed = field.args.map((arg) => `${arg.name}: $${arg.name}`).join(', ');
        const call = field.args.length > 0 ? `${field.name}(${passed})` : field.name;
        const document = `${kind} ${heads === '' ? '' : `(${heads})`} { ${call}${selection(random, field.type, round % 3)} }`;
        const hostility = pick(random, HOSTILITY);
        const samples = made.known.inputs.get(field.name) ?? [];
        const [input] = field.args;
        const variables =
          samples.length > 0 && random() < 0.6 && input !== undefined
            ? { input: values.like(pick(random, samples), input.type, field.name, hostility) }
            : values.forArguments(field.name, field.args, hostility);
        const { token } = pick(random, senders);
        // Each is answered for itself, not for having asked often.
        if (asked % 5 === 0) await world.db.rateLimit.deleteMany();
        const since = Date.now();
        const answer = await test.ask(document, variables, token);
        asked += 1;
        const errors = answer.errors ?? [];
        const seen = codes.get(field.name) ?? new Set();
        codes.set(field.name, seen.add(errors[0]?.extensions.code ?? 'answered'));
        const fault = faultOf(answer.status, errors, Date.now() - since);
        if (fault !== null && !faults.has(`${field.name}: ${fault}`))
          faults.set(`${field.name}: ${fault}`, {
            document,
            variables: JSON.stringify(variables).slice(0, 2_000),
            errors: errors.slice(0, 2),
          });
      }
    process.stderr.write(`hostile input: ${asked} requests, seed ${SEED}\n`);
    expect(Object.fromEntries(faults)).toEqual({});
    // Values that never get past the reading of the input prove nothing.
    const past = [...codes.values()].filter((seen) => seen.has('answered') || seen.has('RULE_REFUSED'));
    expect(past.length).toBeGreaterThan(all.length / 2);
  },
  ROUNDS * 60_000,
);
