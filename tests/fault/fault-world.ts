import { randomUUID } from 'node:crypto';
import { type PrismaClient } from '../../libs/platform/prisma/index.js';
import { type ApiClient } from './api-client.js';

/** A keeper who is signed in. */
export type FaultKeeper = { readonly keeperId: string; readonly token: string };

/** Keepers and animals that change hands during a run, with who has each at the start. */
export type FaultWorld = {
  readonly keepers: readonly FaultKeeper[];
  readonly animals: readonly { readonly id: string; holder: FaultKeeper }[];
};

const KEEPERS = 6;
const ANIMALS = 36;

/**
 * Puts triggers into the database that see what the program itself cannot show: each delivery that reached the receipt,
 * and whether its transaction wrote to any other table. A delivery that found the receipt must not. They also tell, at
 * COMMIT, which process has just written a message or a receipt.
 */
export async function watchTables(client: PrismaClient): Promise<void> {
  const tables = await client.$queryRaw<{ name: string }[]>`
    SELECT relname AS name FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace
      AND relname NOT IN ('_prisma_migrations', 'job_receipt')`;
  const statements = [
    `CREATE TABLE fault_delivery (message_id uuid NOT NULL, transaction text NOT NULL)`,
    `CREATE INDEX ON fault_delivery (transaction)`,
    `CREATE TABLE fault_write (transaction text NOT NULL, wrote_to text NOT NULL)`,
    `CREATE FUNCTION note_delivery() RETURNS trigger LANGUAGE plpgsql AS
     'BEGIN INSERT INTO fault_delivery VALUES (NEW.message_id, pg_current_xact_id()::text); RETURN NEW; END'`,
    `CREATE FUNCTION note_write() RETURNS trigger LANGUAGE plpgsql AS
     'BEGIN
        IF EXISTS (SELECT FROM fault_delivery WHERE transaction = pg_current_xact_id()::text) THEN
          INSERT INTO fault_write VALUES (pg_current_xact_id()::text, TG_TABLE_NAME);
        END IF;
        RETURN NULL;
      END'`,
    `CREATE FUNCTION tell_commit() RETURNS trigger LANGUAGE plpgsql AS
     'BEGIN PERFORM pg_notify(''fault_commit'', current_setting(''application_name'')); RETURN NEW; END'`,
    `CREATE TRIGGER note_delivery BEFORE INSERT ON job_receipt FOR EACH ROW EXECUTE FUNCTION note_delivery()`,
    `CREATE TRIGGER tell_commit BEFORE INSERT ON job_receipt FOR EACH ROW EXECUTE FUNCTION tell_commit()`,
    `CREATE TRIGGER tell_commit BEFORE INSERT ON outbox_message FOR EACH ROW EXECUTE FUNCTION tell_commit()`,
    // For each statement: one that a key then kept from writing a row counts as well.
    ...tables.map(
      ({ name }) =>
        `CREATE TRIGGER note_write AFTER INSERT OR UPDATE OR DELETE ON "${name}" FOR EACH STATEMENT EXECUTE FUNCTION note_write()`,
    ),
  ];
  for (const statement of statements) await client.$executeRawUnsafe(statement);
}

/** Opens accounts and registers animals through the API, before anything is killed. */
export async function buildFaultWorld(client: PrismaClient, api: ApiClient): Promise<FaultWorld> {
  const taxonId = await insertTaxon(client);
  const keepers = await Promise.all(
    Array.from({ length: KEEPERS }, (_, index) => openAccount(api, `Invented keeper ${index}`)),
  );
  await letThemPass(client, keepers);
  const animals = [];
  for (let index = 0; index < ANIMALS; index += 1) {
    const holder = keepers[index % KEEPERS];
    if (holder === undefined) throw new RangeError('There is no such keeper.');
    animals.push({ id: await registerAnimal(api, holder, taxonId), holder });
  }
  return { keepers, animals };
}

/** An invented species. Gives its id. */
export async function insertTaxon(client: PrismaClient): Promise<string> {
  const id = randomUUID();
  await client.taxon.create({
    data: {
      id,
      scientificName: 'Testudo inventa',
      commonName: 'invented tortoise',
      className: 'Reptilia',
      orderName: 'Testudines',
      nameSource: 'invented for this run',
      quarantineDays: 60,
      quarantineSource: 'invented rule',
    },
  });
  return id;
}

/** Animals here are handed on the day they came, out of their arrival quarantine: a club whose policy only warns of that. */
async function letThemPass(client: PrismaClient, keepers: readonly FaultKeeper[]): Promise<void> {
  const clubId = randomUUID();
  const [now, joinedOn] = [new Date(), new Date('2026-01-01')];
  await client.club.create({ data: { id: clubId, slug: 'invented-club', name: 'An invented club', createdAt: now } });
  await client.clubMember.createMany({ data: keepers.map(({ keeperId }) => ({ clubId, keeperId, joinedOn })) });
  await client.clubPolicy.create({ data: { clubId, check: 'quarantine', effect: 'warn' } });
}

/** Opens an account with a keeper of the name. */
export async function openAccount(api: ApiClient, keeperName: string): Promise<FaultKeeper> {
  const input = { email: `${randomUUID()}@example.org`, password: 'a long enough password', keeperName };
  const answer = await api.send(
    `mutation ($input: OpenAccountInput!) { openAccount(input: $input) { keeperId accessToken } }`,
    input,
  );
  const { openAccount: opened } = dataOf<{ openAccount: { keeperId: string; accessToken: string } }>(answer);
  return { keeperId: opened.keeperId, token: opened.accessToken };
}

/** Registers an animal with its keeper. Gives its id. */
export async function registerAnimal(api: ApiClient, holder: FaultKeeper, taxonId: string): Promise<string> {
  const answer = await api.send(
    `mutation ($input: RegisterAnimalInput!) { registerAnimal(input: $input) { animal { id } } }`,
    { keeperId: holder.keeperId, taxonId, since: '2026-01-01' },
    { authorization: `Bearer ${holder.token}` },
  );
  return dataOf<{ registerAnimal: { animal: { id: string } } }>(answer).registerAnimal.animal.id;
}

function dataOf<T>(answer: Awaited<ReturnType<ApiClient['send']>>): T {
  if (!answer?.data) throw new Error(`The world of the run could not be made: ${JSON.stringify(answer)}`);
  return answer.data as T;
}
