import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { type GraphqlError, startTestApp, type TestApp } from '../support/test-app.js';
import { parseRegisterNumber } from '../../libs/kernel/index.js';
import { statementsOf } from '../support/query-count.js';
import { RegistryWorld } from '../support/registry-world.js';

let server: TestApp;
let world: RegistryWorld;

beforeAll(async () => {
  server = await startTestApp();
  world = new RegistryWorld(server);
});
afterAll(async () => {
  await world?.close();
  await server?.close();
});

/** Another number with a check character that fits, of no animal. */
function neighbour(number: string): string {
  const body = number.slice(0, -1);
  for (const place of '0123456789ABCDEFGHJKMNPQRSTVWXYZ')
    for (const check of '0123456789ABCDEFGHJKMNPQRSTVWXYZ*') {
      const other = `${body.slice(0, -1)}${place}${check}`;
      const read = parseRegisterNumber(other);
      if (other !== number && read.ok) return read.value;
    }
  throw new Error('No other number has a check character that fits.');
}

it('the number of an animal that is not shown is looked up as one that does not exist, in the same words', async () => {
  const [keeper, stranger] = [await world.keeper('Keeper'), await world.keeper('Stranger')];
  const id = await world.animal(keeper, await world.taxon());
  const { registerNumber } = await world.db.animal.findUniqueOrThrow({ where: { id } });
  const ask = async (number: string): Promise<{ statements: string[]; error: GraphqlError | undefined }> => {
    let error: GraphqlError | undefined;
    const statements = await statementsOf(async () => {
      const answer = await server.ask(
        `query ($n: String) { animal(registerNumber: $n) { id } }`,
        { n: number },
        stranger.token,
      );
      error = answer.errors?.[0];
    });
    return { statements, error };
  };
  const [hidden, absent] = [await ask(registerNumber), await ask(neighbour(registerNumber))];
  expect(hidden.error?.extensions.code).toBe('NOT_FOUND');
  expect(absent.error?.message).toBe(hidden.error?.message);
  expect(hidden.statements.length).toBeGreaterThan(1);
  expect(absent.statements).toEqual(hidden.statements);
});
