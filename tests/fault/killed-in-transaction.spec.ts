import { randomBytes, randomUUID } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import pg from 'pg';
import { dayOf } from '../../libs/kernel/index.js';
import { createPrismaClient, type PrismaClient } from '../../libs/platform/prisma/index.js';
import { createTestDatabase, type TestDatabase } from '../support/template-db.js';
import { ApiClient } from './api-client.js';
import { freePort } from './fault-run.js';
import { type FaultKeeper, insertTaxon, openAccount, registerAnimal } from './fault-world.js';
import { Victim } from './victim.js';

/** Any number: the advisory lock on which a transaction waits until its process is dead. */
const PAUSE = 7_001;
const PATIENCE = 60_000;

const folder = mkdtempSync(join(tmpdir(), 'kithbook-killed-'));
const today = dayOf(new Date());
let database: TestDatabase;
let client: PrismaClient;
let holder: pg.Client;
let victim: Victim;
let api: ApiClient;
let giver: FaultKeeper;
let receiver: FaultKeeper;
let taxonId: string;

beforeAll(async () => {
  database = await createTestDatabase();
  client = createPrismaClient(database.url, 2);
  holder = new pg.Client({ connectionString: database.url });
  await holder.connect();
  await holder.query(`CREATE FUNCTION wait_to_be_killed() RETURNS trigger LANGUAGE plpgsql AS
    'BEGIN PERFORM pg_advisory_xact_lock_shared(${PAUSE}); RETURN NEW; END'`);
  const port = await freePort();
  const secretFile = join(folder, 'secret');
  writeFileSync(secretFile, randomBytes(32).toString('hex'));
  victim = new Victim({
    name: 'api',
    script: 'dist/apps/api/src/main.js',
    env: { PORT: String(port), DATABASE_URL: database.url, AUTH_SECRET_FILE: secretFile, DATA_DIR: folder },
  });
  victim.start();
  await victim.ready();
  api = new ApiClient(`http://127.0.0.1:${port}/graphql`);
  [giver, receiver] = [await openAccount(api, 'Invented giver'), await openAccount(api, 'Invented receiver')];
  taxonId = await insertTaxon(client);
});
afterAll(async () => {
  await victim.stop();
  await holder.end();
  await client.$disconnect();
  await database.drop();
  rmSync(folder, { recursive: true, force: true });
});

/** `gives`: what of the answer names what was written; the transfer when left out. */
type Step = {
  readonly who: FaultKeeper;
  readonly name: string;
  readonly input: object;
  readonly key: string;
  readonly gives?: string;
};

const TRANSFER = 'transfer { id }';

const documentOf = (name: string, gives: string): string => {
  const type = `${name[0]?.toUpperCase()}${name.slice(1)}Input!`;
  return `mutation ($input: ${type}) { ${name}(input: $input) { ${gives} } }`;
};

function send({ who, name, input, key, gives = TRANSFER }: Step): Promise<unknown> {
  return api.send(documentOf(name, gives), input, { authorization: `Bearer ${who.token}`, 'idempotency-key': key });
}

/** One step to its end. Gives its answer. */
async function answered<T>({ who, name, input, key, gives = TRANSFER }: Step): Promise<T> {
  const mutation = { token: who.token, key, document: documentOf(name, gives), input };
  return ((await api.mutate(mutation, AbortSignal.timeout(PATIENCE))) as Record<string, T>)[name] as T;
}

/** One step to its end. Gives the id of its transfer. */
async function done(who: FaultKeeper, name: string, input: object): Promise<string> {
  return (await answered<{ transfer: { id: string } }>({ who, name, input, key: randomUUID() })).transfer.id;
}

/** What every table holds, as one hash each: a row that was changed shows as well as one that was added. */
async function contents(): Promise<Record<string, string>> {
  const { rows: tables } = await holder.query<{ name: string }>(`
    SELECT relname AS name FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace
      AND relname NOT IN ('_prisma_migrations', 'rate_limit') ORDER BY relname`);
  const found: Record<string, string> = {};
  for (const { name } of tables) {
    const { rows } = await holder.query<{ hash: string }>(
      `SELECT md5(coalesce(string_agg(t::text, ' ' ORDER BY t::text), '')) AS hash FROM "${name}" t`,
    );
    found[name] = rows[0]?.hash ?? '';
  }
  return found;
}

/** Waits until there are sessions of this database of which the condition holds, or until there are none. */
async function until(are: 'some' | 'none', sessions: string): Promise<void> {
  for (const end = Date.now() + PATIENCE; Date.now() < end; await sleep(20)) {
    const { rows } = await holder.query<{ n: number }>(
      `SELECT count(*)::int AS n FROM pg_stat_activity
       WHERE datname = current_database() AND pid <> pg_backend_pid() AND ${sessions}`,
    );
    if ((rows[0]?.n === 0) === (are === 'none')) return;
  }
  throw new Error(`There had to be ${are}: ${sessions}`);
}

/** Lets the step run until it writes to a table, and kills the API there, with everything before that statement written. */
async function killAt(table: string, step: Step): Promise<void> {
  await holder.query(`CREATE TRIGGER wait_to_be_killed BEFORE INSERT OR UPDATE ON "${table}"
    FOR EACH ROW EXECUTE FUNCTION wait_to_be_killed()`);
  await holder.query('SELECT pg_advisory_lock($1)', [PAUSE]);
  try {
    const answer = send(step);
    await until('some', `wait_event = 'advisory'`);
    const { rows } = await holder.query<{ pid: number }>(
      `SELECT pid FROM pg_stat_activity WHERE datname = current_database() AND wait_event = 'advisory'`,
    );
    await victim.killAndRestart();
    expect(await answer).toBeUndefined();
    await holder.query('SELECT pg_advisory_unlock($1)', [PAUSE]);
    for (const { pid } of rows) await until('none', `pid = ${pid}`);
  } finally {
    await holder.query('SELECT pg_advisory_unlock_all()');
    await holder.query(`DROP TRIGGER wait_to_be_killed ON "${table}"`);
  }
  await victim.ready();
}

/** Kills the API at each of the tables; then the step is done once, however often it is asked for. */
async function survives(step: Step, tables: readonly string[]): Promise<void> {
  const before = await contents();
  for (const table of tables) {
    await killAt(table, step);
    expect({ table, ...(await contents()) }).toEqual({ table, ...before });
  }
  const answer = await answered(step);
  const after = await contents();
  // Each of the tables is one the step writes to: the kills were between its statements.
  for (const table of tables) expect({ table, hash: after[table] }).not.toEqual({ table, hash: before[table] });
  expect(await answered(step)).toEqual(answer);
  expect(await contents()).toEqual(after);
}

/** A hand-over of a new animal up to the point where it was sent. */
async function sent(terms: object): Promise<{ transferId: string; animalId: string }> {
  const animalId = await registerAnimal(api, giver, taxonId);
  const offer = { fromKeeperId: giver.keeperId, toKeeperId: receiver.keeperId, items: [{ animalId }], ...terms };
  const transferId = await done(giver, 'offerTransfer', offer);
  await done(receiver, 'acceptTransfer', { transferId });
  await done(giver, 'sendTransfer', { transferId, sentOn: today });
  return { transferId, animalId };
}

const arrivedWell = (transferId: string, animalId: string) => {
  return { transferId, receivedOn: today, items: [{ animalId, arrivals: [{ state: 'well', count: 1 }] }] };
};

const actions = async (transferId: string): Promise<string[]> => {
  const entries = await client.ledgerEntry.findMany({
    where: { subjects: { has: transferId } },
    orderBy: [{ at: 'asc' }, { id: 'asc' }],
  });
  return entries.map(({ action }) => action);
};

describe('an API that is killed between two statements of one transaction', () => {
  it('of a receipt: nothing of it is there, and the same request again does all of it, once', async () => {
    const { transferId, animalId } = await sent({ kind: 'gift' });
    const step = {
      who: receiver,
      name: 'receiveTransfer',
      input: arrivedWell(transferId, animalId),
      key: randomUUID(),
    };
    await survives(step, ['custody', 'quarantine_entry', 'ledger_entry']);
    expect((await actions(transferId)).filter((action) => action === 'transfer.received')).toHaveLength(1);
    const holders = await client.custody.findMany({ where: { animalId, supersededAt: null, validTo: null } });
    expect(holders.map(({ keeperId }) => keeperId)).toEqual([receiver.keeperId]);
  }, 240_000);

  it('of the confirmation of the last instalment: not paid and not the buyer’s, then both', async () => {
    const instalments = [
      { minor: 600, dueOn: today },
      { minor: 400, dueOn: dayOf(new Date(Date.now() + 40 * 86_400_000)) },
    ];
    const price = { minor: 1_000, currency: 'EUR' };
    const { transferId, animalId } = await sent({ kind: 'sale', title: 'when_paid', price, instalments });
    await done(receiver, 'receiveTransfer', arrivedWell(transferId, animalId));
    const payments: string[] = [];
    for (const { minor } of instalments) {
      await done(receiver, 'declarePayment', { transferId, minor, paidOn: today });
      const payment = await client.transferPayment.findFirstOrThrow({ where: { transferId, minor: BigInt(minor) } });
      payments.push(payment.id);
    }
    await done(giver, 'confirmPayment', { paymentId: payments[0] });
    const owners = async () => {
      const shares = await client.ownershipShare.findMany({
        where: { ownership: { animalId, supersededAt: null, validTo: null } },
      });
      return shares.map(({ keeperId }) => keeperId);
    };
    expect(await owners()).toEqual([giver.keeperId]);
    const step = { who: giver, name: 'confirmPayment', input: { paymentId: payments[1] }, key: randomUUID() };
    await survives(step, ['transfer_payment', 'ownership_share', 'ledger_entry']);
    expect(await owners()).toEqual([receiver.keeperId]);
    expect((await actions(transferId)).filter((action) => action === 'transfer.payment-confirmed')).toHaveLength(2);
  }, 240_000);

  it('of an agreement to another last day, and of a pick: all of it or nothing, and once', async () => {
    const youngSplit = { method: 'by_turns', lenderParts: 1, ofParts: 2, firstPick: 'borrower', oddOne: 'lender' };
    const dueBack = (days: number) => dayOf(new Date(Date.now() + days * 86_400_000));
    const { transferId, animalId } = await sent({
      kind: 'breeding_loan',
      dueBack: dueBack(100),
      loanTerms: { youngSplit },
    });
    await done(receiver, 'receiveTransfer', arrivedWell(transferId, animalId));
    await done(receiver, 'askLoanExtension', { transferId, dueBack: dueBack(200) });
    const { id: extensionId } = await client.loanExtension.findFirstOrThrow({ where: { transferId } });
    const agree = {
      who: giver,
      name: 'answerLoanExtension',
      input: { extensionId, agree: true },
      key: randomUUID(),
    };
    await survives(agree, ['loan_extension', 'ledger_entry']);
    const { dueBack: now } = await client.transfer.findUniqueOrThrow({ where: { id: transferId } });
    expect(now?.toISOString().slice(0, 10)).toBe(dueBack(200));

    const at = (name: string, input: object, gives: string) => ({
      ...{ who: receiver, name, input, gives },
      key: randomUUID(),
    });
    const laid = at('recordClutch', { damId: animalId, laid: today }, 'clutch { id }');
    const { clutch } = await answered<{ clutch: { id: string } }>(laid);
    const hatch = at('recordHatchlings', { clutchId: clutch.id, when: today, young: [{}, {}] }, 'young { id }');
    await survives(hatch, ['loan_young', 'ownership_share']);
    const young = await client.loanYoung.findMany({ where: { clutchId: clutch.id }, orderBy: { animalId: 'asc' } });
    expect(young).toHaveLength(2);
    const [picked = '', left = ''] = young.map((each) => each.animalId);
    const pick = at(
      'pickYoung',
      { transferId, clutchId: clutch.id, animalIds: [picked] },
      'clutch { clutchId number }',
    );
    await survives(pick, ['loan_young', 'ownership_share', 'ledger_entry']);
    const owners = async (id: string) =>
      (
        await client.ownershipShare.findMany({
          where: { ownership: { animalId: id, supersededAt: null, validTo: null } },
        })
      )
        .map(({ keeperId }) => keeperId)
        .toSorted();
    expect(await owners(picked)).toEqual([receiver.keeperId]);
    expect(await owners(left)).toEqual([giver.keeperId, receiver.keeperId].toSorted());
    expect((await actions(clutch.id)).filter((action) => action === 'transfer.young-picked')).toHaveLength(1);
  }, 480_000);
});
