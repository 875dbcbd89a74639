import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import {
  createPrismaClient,
  databaseRefusal,
  type PrismaClient,
  readDatabaseFault,
} from '../../libs/platform/prisma/index.js';
import { createTestDatabase, type TestDatabase } from '../support/template-db.js';

/** Which Prisma error carries which SQLSTATE differs by version and adapter: these are the shapes we rely on. */
describe('database faults are read from Prisma errors', () => {
  let database: TestDatabase;
  let client: PrismaClient;
  const id = uuid();
  const account = (email: string) => ({ id: uuid(), email, passwordHash: 'x', createdAt: new Date() });
  beforeAll(async () => {
    database = await createTestDatabase();
    client = createPrismaClient(database.url, 3);
    await client.account.create({ data: account('taken@example.org') });
    await client.taxon.create({
      data: {
        id,
        scientificName: 'Testudo graeca',
        commonName: '',
        className: '',
        orderName: '',
        nameSource: '',
        quarantineDays: 30,
        quarantineSource: '',
      },
    });
  });
  afterAll(async () => {
    await client.$disconnect();
    await database.drop();
  });

  const faultOf = async (work: Promise<unknown>) =>
    readDatabaseFault(
      await work.then(
        () => null,
        (error: unknown) => error,
      ),
    );
  const lot = (count: number) => ({
    id: uuid(),
    registerNumber: 'CDFGHJKMN',
    kind: 'lot' as const,
    taxonId: id,
    count,
    registeredAt: new Date(),
    registeredBy: id,
  });

  it('CHECK', async () => {
    expect(await faultOf(client.account.create({ data: account('Upper@example.org') }))).toEqual({
      sqlState: '23514',
      constraint: 'account_email_lower',
    });
  });
  it('UNIQUE', async () => {
    expect(await faultOf(client.account.create({ data: account('taken@example.org') }))).toEqual({
      sqlState: '23505',
      constraint: 'account_email_key',
    });
  });
  it('FOREIGN KEY', async () => {
    const data = { keeperId: uuid(), accountId: uuid(), role: 'owner' as const, since: new Date() };
    expect((await faultOf(client.keeperMember.create({ data })))?.sqlState).toBe('23503');
  });
  it('EXCLUDE through raw SQL', async () => {
    const animalId = uuid();
    await client.animal.create({ data: { ...lot(1), id: animalId, kind: 'individual', registerNumber: 'CDFGHJKMP' } });
    const insert = () => client.$executeRaw`
      INSERT INTO custody (id, animal_id, holder_kind, valid_from, arrived_by, recorded_at, recorded_by)
      VALUES (${uuid()}::uuid, ${animalId}::uuid, 'unknown', '2026-01-01', 'registered', now(), ${id}::uuid)`;
    await insert();
    expect(await faultOf(insert())).toEqual({ sqlState: '23P01', constraint: 'custody_no_overlap' });
  });
  it('a deferred trigger, at COMMIT of a transaction and of a single statement', async () => {
    const expected = { sqlState: '23514', constraint: 'lot_balances' };
    expect(await faultOf(client.$transaction((tx) => tx.animal.create({ data: lot(3) })))).toEqual(expected);
    expect(await faultOf(client.animal.create({ data: lot(3) }))).toEqual(expected);
  });
  it('an append-only table', async () => {
    expect(await faultOf(client.$executeRaw`TRUNCATE ledger_entry CASCADE`)).toEqual({
      sqlState: '23001',
      constraint: 'append_only',
    });
  });
  it('a deadlock', async () => {
    const [a, b] = [account('a@example.org'), account('b@example.org')];
    await client.account.createMany({ data: [a, b] });
    let arrived = 0;
    let open: () => void = () => undefined;
    const both = new Promise<void>((resolve) => (open = resolve));
    const lockTwo = (first: string, second: string) =>
      client.$transaction(async (tx) => {
        await tx.$executeRaw`UPDATE account SET password_hash = 'y' WHERE id = ${first}::uuid`;
        if (++arrived === 2) open();
        await both;
        await tx.$executeRaw`UPDATE account SET password_hash = 'y' WHERE id = ${second}::uuid`;
      });
    const faults = await Promise.all([faultOf(lockTwo(a.id, b.id)), faultOf(lockTwo(b.id, a.id))]);
    expect(faults.map((fault) => fault?.sqlState).sort()).toEqual(['40P01', undefined]);
  });
  it('anything else is no database fault', () => {
    expect(readDatabaseFault(new Error('no'))).toBeNull();
    expect(readDatabaseFault(null)).toBeNull();
  });
  it('a server that went away, before or in the middle of a statement, between two or at COMMIT, is no fault of ours', async () => {
    const pool = createPrismaClient(database.url, 1);
    const kill = async (): Promise<void> => {
      await client.$queryRaw`
        SELECT pg_terminate_backend(pid)::text FROM pg_stat_activity
        WHERE datname = current_database() AND backend_type = 'client backend' AND application_name = 'to be killed'`;
      await sleep(100);
    };
    const named = (db: Pick<PrismaClient, '$executeRaw'>) => db.$executeRaw`SET application_name = 'to be killed'`;
    const refusalOf = async (work: Promise<unknown>): Promise<string | undefined> =>
      databaseRefusal(
        await work.then(
          () => null,
          (error: unknown) => error,
        ),
      )?.code;
    const inside = pool.$transaction(async (tx) => {
      await named(tx);
      const waiting = tx.$queryRaw`SELECT pg_sleep(20)::text`;
      await Promise.all([waiting, sleep(200).then(kill)]);
    });
    expect(await refusalOf(inside)).toBe('UNAVAILABLE');
    const between = pool.$transaction(async (tx) => {
      await named(tx);
      await kill();
      await tx.$queryRaw`SELECT 1`;
    });
    expect(await refusalOf(between)).toBe('UNAVAILABLE');
    const atCommit = pool.$transaction(async (tx) => {
      await named(tx);
      await kill();
    });
    expect(await refusalOf(atCommit)).toBe('UNAVAILABLE');
    expect(await refusalOf(pool.$queryRaw`SELECT 1`)).toBeUndefined();
    await pool.$disconnect();

    const nobody = createPrismaClient('postgresql://postgres@127.0.0.1:1/none', 1);
    expect(await refusalOf(nobody.$queryRaw`SELECT 1`)).toBe('UNAVAILABLE');
    expect(await refusalOf(nobody.account.findFirst())).toBe('UNAVAILABLE');
    expect(await refusalOf(nobody.$transaction((tx) => tx.$queryRaw`SELECT 1`))).toBe('UNAVAILABLE');
    await nobody.$disconnect();
    expect(databaseRefusal(new Error('no'))).toBeNull();
  });
});
