import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { decide, refuse, type Viewer } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { commitment, defineLedgerAction, leafHash } from '../../libs/platform/ledger/index.js';
import { defineJob } from '../../libs/platform/outbox/index.js';
import { createPrismaClient, type PrismaClient, type Tx, UnitOfWork } from '../../libs/platform/prisma/index.js';
import { createTestDatabase, type TestDatabase } from '../support/template-db.js';

const clubFounded = defineLedgerAction('test.club-founded', 1, z.strictObject({ clubId: z.uuid() }));
const welcome = defineJob({ name: 'test.welcome', version: 1, payload: z.object({ clubId: z.uuid() }), attempts: 3 });
const outcome = z.object({ clubId: z.uuid() });

let database: TestDatabase;
let client: PrismaClient;
let uow: UnitOfWork;
let viewer: Viewer;
beforeAll(async () => {
  database = await createTestDatabase();
  client = createPrismaClient(database.url, 8);
  uow = new UnitOfWork(client, new Clock());
});
afterAll(async () => {
  await client.$disconnect();
  await database.drop();
});
beforeEach(() => {
  viewer = { accountId: uuid(), keepers: [], clubIds: [], offices: [], requestId: uuid(), idempotencyKey: uuid() };
});

const found = (slug: string) => async (tx: Tx) => {
  const clubId = uuid();
  await tx.db.club.create({ data: { id: clubId, slug, name: slug, createdAt: tx.now } });
  await tx.ledger.append(clubFounded, { subjects: [clubId], body: { clubId }, personal: { name: slug } });
  await tx.outbox.send(welcome, { clubId });
  return decide({ clubId });
};
const write = (slug: string, input: unknown = { slug }) =>
  uow.write(viewer, { action: 'test.found', input, outcome }, found(slug));
const clubs = (slug: string) => client.club.count({ where: { slug } });

describe('a write', () => {
  it('is one with its ledger entry and its job', async () => {
    const { clubId } = await write('north');
    const [entry] = await client.ledgerEntry.findMany({ where: { subjects: { has: clubId } } });
    expect(entry).toMatchObject({ action: 'test.club-founded', actorId: viewer.accountId, schemaVersion: 1 });
    expect(await client.outboxMessage.count({ where: { payload: { equals: { clubId } } } })).toBe(1);
  });

  it('sends one of two messages with the same name, and says as much as it has to', async () => {
    const [all, clubIds] = [uuid(), Array.from({ length: 1_001 }, () => uuid())];
    await uow.write(viewer, { action: 'test.found', input: 2, outcome }, async (tx) => {
      for (const clubId of clubIds) await tx.ledger.append(clubFounded, { subjects: [all], body: { clubId } });
      for (const clubId of clubIds.slice(0, 3)) await tx.outbox.send(welcome, { clubId }, { dedupeKey: all });
      return decide({ clubId: uuid() });
    });
    expect(await client.ledgerEntry.count({ where: { subjects: { has: all } } })).toBe(1_001);
    expect(await client.outboxMessage.findMany({ where: { dedupeKey: all } })).toMatchObject([
      { payload: { clubId: clubIds[0] } },
    ]);
  });

  it('that waits too long for a lock is BUSY', async () => {
    const { clubId } = await write('locked');
    let release = () => {};
    const held = new Promise<void>((resolve) => (release = resolve));
    let locked = () => {};
    const isLocked = new Promise<void>((resolve) => (locked = resolve));
    const holder = client.$transaction(
      async (db) => {
        await db.$queryRaw`SELECT 1 FROM club WHERE id = ${clubId}::uuid FOR UPDATE`;
        locked();
        await held;
      },
      { timeout: 60_000 },
    );
    await isLocked;
    viewer = { ...viewer, idempotencyKey: uuid() };
    const waits = uow.write(viewer, { action: 'test.rename', input: 1, outcome }, async (tx) => {
      await tx.db.club.update({ where: { id: clubId }, data: { name: 'late' } });
      return decide({ clubId });
    });
    await expect(waits.finally(release)).rejects.toMatchObject({ code: 'BUSY' });
    await holder;
  }, 30_000);

  it('that is refused leaves nothing, though it wrote before it refused', async () => {
    const refused = uow.write(viewer, { action: 'test.found', input: 1, outcome }, async (tx) => {
      await found('refused')(tx);
      return refuse('TOO_MANY_CLUBS', 'There are enough clubs.');
    });
    await expect(refused).rejects.toMatchObject({ code: 'RULE_REFUSED', rule: 'TOO_MANY_CLUBS' });
    expect(await clubs('refused')).toBe(0);
    expect(await client.idempotencyRecord.count({ where: { accountId: viewer.accountId } })).toBe(0);
  });

  it('that meets a constraint is refused in words', async () => {
    await write('twice', 1);
    viewer = { ...viewer, idempotencyKey: uuid() };
    await expect(write('twice', 2)).rejects.toMatchObject({ code: 'RULE_REFUSED', rule: 'CLUB_NAME_TAKEN' });
  });

  it('is tried again after a deadlock, with fresh reads', async () => {
    let tries = 0;
    const { clubId } = await uow.write(viewer, { action: 'test.found', input: 1, outcome }, async (tx) => {
      tries += 1;
      if (tries < 3) await tx.db.$executeRaw`DO $$ BEGIN RAISE EXCEPTION 'made up' USING ERRCODE = '40P01'; END $$`;
      return found('stubborn')(tx);
    });
    expect(tries).toBe(3);
    expect(await client.club.count({ where: { id: clubId } })).toBe(1);
  });

  it('that never gets through is BUSY', async () => {
    const stuck = uow.write(viewer, { action: 'test.found', input: 1, outcome }, async (tx) => {
      await tx.db.$executeRaw`DO $$ BEGIN RAISE EXCEPTION 'made up' USING ERRCODE = '40001'; END $$`;
      return found('stuck')(tx);
    });
    await expect(stuck).rejects.toMatchObject({ code: 'BUSY' });
  });
});

describe('an Idempotency-Key', () => {
  it('gives the same outcome without writing again', async () => {
    const first = await write('once');
    expect(await write('once')).toEqual(first);
    expect(await clubs('once')).toBe(1);
  });

  it('lets one of two requests at once do the work', async () => {
    const [a, b] = await Promise.all([write('race'), write('race')]);
    expect(a).toEqual(b);
    expect(await clubs('race')).toBe(1);
  });

  it('is refused for another request', async () => {
    await write('mine', { a: 1 });
    await expect(write('other', { a: 2 })).rejects.toMatchObject({
      code: 'RULE_REFUSED',
      rule: 'IDEMPOTENCY_KEY_REUSED',
    });
    expect(await clubs('other')).toBe(0);
  });

  it('belongs to the account', async () => {
    await write('hers');
    const other: Viewer = { ...viewer, accountId: uuid() };
    await uow.write(other, { action: 'test.found', input: { slug: 'hers' }, outcome }, found('his'));
    expect(await clubs('his')).toBe(1);
  });

  it('of a refused request may be sent again', async () => {
    const refused = uow.write(viewer, { action: 'test.found', input: { slug: 'later' }, outcome }, async () =>
      refuse('NOT_YET', 'Not yet.'),
    );
    await expect(refused).rejects.toMatchObject({ rule: 'NOT_YET' });
    await write('later');
    expect(await clubs('later')).toBe(1);
  });
});

describe('the ledger', () => {
  it('hashes what it holds, and holds salted hashes instead of personal text', async () => {
    const { clubId } = await write('Secret Name of Somebody');
    const entry = await client.ledgerEntry.findFirstOrThrow({
      where: { subjects: { has: clubId } },
      include: { commitments: true },
    });
    const { commitments, leafHash: stored, ...facts } = entry;
    expect(Buffer.from(leafHash(facts))).toEqual(Buffer.from(stored));
    expect(leafHash({ ...facts, action: 'test.other' })).not.toEqual(stored);
    expect(entry.body).not.toContain('Secret');
    const [text] = commitments;
    expect(text?.value).toBe('Secret Name of Somebody');
    expect(entry.body).toContain(commitment(text?.salt ?? new Uint8Array(), text?.value ?? ''));
  });

  it('lets a text be forgotten, and nothing be changed', async () => {
    const { clubId } = await write('forgettable');
    const { id } = await client.ledgerEntry.findFirstOrThrow({ where: { subjects: { has: clubId } } });
    await expect(client.ledgerEntry.update({ where: { id }, data: { action: 'x' } })).rejects.toThrow(/append.only/);
    await expect(client.$executeRaw`DELETE FROM ledger_entry WHERE id = ${id}::uuid`).rejects.toThrow(/append.only/);
    await expect(client.ledgerCommitment.updateMany({ where: { entryId: id }, data: { value: 'x' } })).rejects.toThrow(
      /append.only/,
    );
    await client.ledgerCommitment.deleteMany({ where: { entryId: id } });
    expect(await client.ledgerEntry.count({ where: { id } })).toBe(1);
  });

  it('refuses a body with more than its schema names', async () => {
    const leaky = uow.write(viewer, { action: 'test.found', input: 1, outcome }, async (tx) => {
      await tx.ledger.append(clubFounded, {
        subjects: [],
        body: { clubId: uuid(), name: 'leak' } as { clubId: string },
      });
      return decide({ clubId: uuid() });
    });
    await expect(leaky).rejects.toThrow();
  });
});
