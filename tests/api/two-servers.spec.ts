import { randomBytes } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { createPrismaClient, type PrismaClient } from '../../libs/platform/prisma/index.js';
import { ApiClient } from '../fault/api-client.js';
import { Victim } from '../fault/victim.js';
import { livePedigrees, numbersOf } from '../support/live-pedigrees.js';
import { createTestDatabase, type TestDatabase } from '../support/template-db.js';

/** One API process of two, and what is asked of it. */
type Server = { readonly process: Victim; readonly api: ApiClient };

let database: TestDatabase;
let client: PrismaClient;
let folder: string;
let servers: [Server, Server];
let keeper: { keeperId: string; accessToken: string };
const taxonId = uuid();

beforeAll(async () => {
  database = await createTestDatabase();
  client = createPrismaClient(database.url, 2);
  folder = mkdtempSync(join(tmpdir(), 'kithbook-two-'));
  const secretFile = join(folder, 'secret');
  writeFileSync(secretFile, randomBytes(32).toString('hex'));
  const start = async (name: string): Promise<Server> => {
    const port = await freePort();
    const env = {
      PORT: String(port),
      DATABASE_URL: database.url,
      AUTH_SECRET_FILE: secretFile,
      DATA_DIR: folder,
    };
    const process = new Victim({ name, script: 'dist/apps/api/src/main.js', env });
    process.start();
    return { process, api: new ApiClient(`http://127.0.0.1:${port}/graphql`) };
  };
  servers = [await start('first'), await start('second')];
  await Promise.all(servers.map((server) => server.process.ready()));
  await client.$executeRaw`
    INSERT INTO taxon (id, scientific_name, common_name, class_name, order_name, name_source, quarantine_days, quarantine_source)
    VALUES (${taxonId}::uuid, 'Testudo inventa', 'invented', 'Reptilia', 'Testudines', 'test', 60, 'test')`;
  const opened = await ask<{ openAccount: typeof keeper }>(
    servers[0],
    `mutation ($input: OpenAccountInput!) { openAccount(input: $input) { keeperId accessToken } }`,
    { email: `${uuid()}@example.org`, password: 'a long enough password', keeperName: 'Keeper' },
  );
  keeper = opened.openAccount;
});
afterAll(async () => {
  await Promise.all(servers.map((server) => server.process.stop()));
  await client.$disconnect();
  await database.drop();
  rmSync(folder, { recursive: true });
});

async function ask<T>({ api, process }: Server, document: string, input: object): Promise<T> {
  const headers = keeper === undefined ? {} : { authorization: `Bearer ${keeper.accessToken}` };
  const answer = await api.send(document, input, headers);
  if (answer?.data === undefined || answer.data === null)
    throw new Error(`${process.name} answered ${JSON.stringify(answer?.errors)}; its last words: ${process.lastWords}`);
  return answer.data as T;
}

async function register(server: Server, more: object = {}): Promise<string> {
  const { registerAnimal } = await ask<{ registerAnimal: { animal: { id: string } } }>(
    server,
    `mutation ($input: RegisterAnimalInput!) { registerAnimal(input: $input) { animal { id } } }`,
    { keeperId: keeper.keeperId, taxonId, ...more },
  );
  return registerAnimal.animal.id;
}

type Numbers = { inbreeding: { value: number }; meanKinship: { value: number; population: { size: number } } };

/** The query takes its variable from the object that mutations call their input. */
async function numbers(server: Server, id: string): Promise<Numbers> {
  const query = `query { animal(id: "${id}") { inbreeding { value } meanKinship { value population { size } } } }`;
  return (await ask<{ animal: Numbers }>(server, query, {})).animal;
}

it('what one server writes is in the very next answer of the other', async () => {
  const [first, second] = servers;
  const sire = await register(first, { sex: 'male' });
  const dam = await register(second, { sex: 'female' });
  expect((await numbers(first, dam)).meanKinship.population.size).toBe(2);
  const daughter = await register(first, { sireId: sire, damId: dam, sex: 'female' });
  expect((await numbers(second, daughter)).meanKinship).toMatchObject({ population: { size: 3 } });
  const inbred = await register(second, { sireId: sire, damId: daughter });
  // Father and daughter: F = 1/4 (Wright 1922).
  expect((await numbers(first, inbred)).inbreeding.value).toBe(0.25);
  await ask(first, `mutation ($input: RecordDeathInput!) { recordDeath(input: $input) { animal { id } } }`, {
    animalId: dam,
  });
  expect((await numbers(second, inbred)).meanKinship.population.size).toBe(3);
});

it.each([1, 2])('births on both at one moment lead both to the numbers computed from scratch (%i)', async () => {
  const [first, second] = servers;
  const parents = [
    await register(first, { sex: 'male' }),
    await register(second, { sex: 'female' }),
    await register(first, { sex: 'female' }),
  ];
  const [sire, dam, other] = parents;
  const young = await Promise.all(
    Array.from({ length: 10 }, (_, k) =>
      register(k % 2 === 0 ? first : second, { sireId: sire, damId: k % 3 === 0 ? other : dam }),
    ),
  );
  const scratch = livePedigrees(database.url);
  try {
    const { size, animals } = numbersOf(await scratch.population.of(taxonId));
    const expected = new Map(animals.map((animal) => [animal.id, animal]));
    for (const id of [...parents, ...young]) {
      for (const server of servers) {
        const { inbreeding, meanKinship } = await numbers(server, id);
        expect(meanKinship.population.size).toBe(size);
        expect(inbreeding.value).toBeCloseTo(expected.get(id)?.inbreeding ?? NaN, 11);
        expect(meanKinship.value).toBeCloseTo(expected.get(id)?.meanKinship ?? NaN, 11);
      }
    }
  } finally {
    await scratch.close();
  }
});

async function freePort(): Promise<number> {
  const server = createServer();
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  await new Promise((resolve) => server.close(resolve));
  if (address === null || typeof address === 'string') throw new Error('A listening server has no port.');
  return address.port;
}
