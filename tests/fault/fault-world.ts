import { randomInt, randomUUID } from 'node:crypto';
import { makeRegisterNumber } from '../../libs/kernel/index.js';
import { type PrismaClient } from '../../libs/platform/prisma/index.js';

/** Keepers and animals that change hands during a run. */
export type FaultWorld = {
  readonly accountId: string;
  readonly keeperIds: readonly string[];
  readonly animalIds: readonly string[];
};

const KEEPERS = 6;
const ANIMALS = 40;

/**
 * Fills the empty database and puts triggers into it. They count what the program itself cannot show: each delivery that
 * reached the receipt, and each time a handler wrote its notice, also when a key then kept the row out. They also tell,
 * at COMMIT, which process has just written a message or a receipt.
 */
export async function buildFaultWorld(client: PrismaClient): Promise<FaultWorld> {
  await client.$executeRaw`CREATE TABLE fault_delivery (message_id uuid NOT NULL)`;
  await client.$executeRaw`CREATE TABLE fault_effect (transfer_id uuid NOT NULL)`;
  await client.$executeRaw`
    CREATE FUNCTION note_delivery() RETURNS trigger LANGUAGE plpgsql AS
    'BEGIN INSERT INTO fault_delivery VALUES (NEW.message_id); RETURN NEW; END'`;
  await client.$executeRaw`
    CREATE FUNCTION note_effect() RETURNS trigger LANGUAGE plpgsql AS
    'BEGIN INSERT INTO fault_effect VALUES ((NEW.body ->> ''transferId'')::uuid); RETURN NEW; END'`;
  await client.$executeRaw`
    CREATE FUNCTION tell_commit() RETURNS trigger LANGUAGE plpgsql AS
    'BEGIN PERFORM pg_notify(''fault_commit'', current_setting(''application_name'')); RETURN NEW; END'`;
  for (const [name, table] of [
    ['note_delivery', 'job_receipt'],
    ['note_effect', 'notice'],
    ['tell_commit', 'job_receipt'],
    ['tell_commit', 'outbox_message'],
  ]) {
    await client.$executeRawUnsafe(
      `CREATE TRIGGER ${name} BEFORE INSERT ON ${table} FOR EACH ROW EXECUTE FUNCTION ${name}()`,
    );
  }

  const now = new Date();
  const accountId = randomUUID();
  const keeperIds = Array.from({ length: KEEPERS }, () => randomUUID());
  const animalIds = Array.from({ length: ANIMALS }, () => randomUUID());
  const taxonId = randomUUID();
  await client.keeper.createMany({
    data: keeperIds.map((id) => ({ id, name: 'Invented keeper', kind: 'person', createdAt: now })),
  });
  await client.taxon.create({
    data: {
      id: taxonId,
      scientificName: 'Testudo inventa',
      commonName: 'invented tortoise',
      className: 'Reptilia',
      orderName: 'Testudines',
      nameSource: 'invented for this run',
      quarantineDays: 60,
      quarantineSource: 'invented rule',
    },
  });
  await client.animal.createMany({
    data: animalIds.map((id) => ({
      id,
      registerNumber: makeRegisterNumber(randomInt),
      kind: 'individual',
      taxonId,
      registeredAt: now,
      registeredBy: accountId,
      count: 1,
    })),
  });
  await client.custody.createMany({
    data: animalIds.map((animalId, index) => ({
      id: randomUUID(),
      animalId,
      holderKind: 'keeper',
      keeperId: keeperIds[index % KEEPERS] ?? null,
      validFrom: new Date('2026-01-01'),
      arrivedBy: 'registered',
      recordedAt: now,
      recordedBy: accountId,
    })),
  });
  return { accountId, keeperIds, animalIds };
}
