import { randomInt, randomUUID } from 'node:crypto';
import { makeRegisterNumber } from '../../libs/kernel/index.js';
import { type PrismaClient } from '../../libs/platform/prisma/index.js';

/** One animal of a transfer as it arrived. */
export type Arrival = {
  state: 'well' | 'ill' | 'dead' | 'missing' | 'not_as_described' | 'refused';
  quarantineDays: number;
};

/**
 * Writes a transfer that was received on `receivedOn` straight into the tables, with its own keepers and taxa. `alive`
 * are the animals that are the receiver's.
 */
export async function receivedTransfer(client: PrismaClient, receivedOn: string, arrivals: readonly Arrival[]) {
  const now = new Date();
  const transferId = randomUUID();
  const keeperId = await keeper(client);
  const fromKeeperId = await keeper(client);
  await client.transfer.create({
    data: {
      id: transferId,
      state: 'received',
      kind: 'gift',
      fromKeeperId,
      toKeeperId: keeperId,
      offeredAt: now,
      receivedOn: new Date(receivedOn),
      closedAt: now,
    },
  });
  const registerNumbers: string[] = [];
  const alive: string[] = [];
  for (const { state, quarantineDays } of arrivals) {
    const registerNumber = makeRegisterNumber(randomInt);
    registerNumbers.push(registerNumber);
    const taxonId = randomUUID();
    await client.taxon.create({
      data: {
        id: taxonId,
        scientificName: `Testudo inventa ${taxonId}`,
        commonName: 'invented tortoise',
        className: 'Reptilia',
        orderName: 'Testudines',
        nameSource: 'invented for this test',
        quarantineDays,
        quarantineSource: `invented rule of ${quarantineDays} days`,
      },
    });
    const animal = {
      id: randomUUID(),
      registerNumber,
      kind: 'individual',
      taxonId,
      registeredAt: now,
      registeredBy: randomUUID(),
      count: 1,
    } as const;
    await client.animal.create({ data: animal });
    if (state === 'well' || state === 'ill') alive.push(animal.id);
    const itemId = randomUUID();
    await client.transferItem.create({ data: { id: itemId, transferId, animalId: animal.id, count: 1, open: false } });
    await client.transferArrival.create({ data: { itemId, state, count: 1 } });
  }
  return { transferId, keeperId, fromKeeperId, registerNumbers, alive };
}

/** A keeper without an account. */
export async function keeper(client: PrismaClient): Promise<string> {
  const id = randomUUID();
  await client.keeper.create({ data: { id, name: 'Invented keeper', kind: 'person', createdAt: new Date() } });
  return id;
}
