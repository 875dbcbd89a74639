/**
 * Writes transfers that are received at once, each in one unit of work with its custody, ledger entry and job, as the
 * receive use case does; the animal goes to the first of two keepers who has it not. Takes `{ accountId, key, animalId, toKeeperIds }` over its channel and answers `{ key, outcome }` or
 * `{ key, error }`. A process of its own, so that it can be killed at any moment.
 */
import 'reflect-metadata';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { decide } from '../../dist/libs/kernel/index.js';
import { Clock } from '../../dist/libs/platform/clock.js';
import { defineLedgerAction } from '../../dist/libs/platform/ledger/index.js';
import { createPrismaClient, UnitOfWork } from '../../dist/libs/platform/prisma/index.js';
import { remindArrivalQuarantine } from '../../dist/libs/transfer/index.js';

const outcome = z.strictObject({ transferId: z.uuid() });
const handedOver = defineLedgerAction('fault.handed-over', 1, outcome);

const client = createPrismaClient(process.env.DATABASE_URL, 8);
const uow = new UnitOfWork(client, new Clock());

process.on('message', ({ accountId, key, animalId, toKeeperIds }) => {
  const viewer = { accountId, keepers: [], clubIds: [], requestId: uuid(), idempotencyKey: key };
  const request = { action: 'fault.hand-over', input: { animalId, toKeeperIds }, outcome };
  uow
    .write(viewer, request, (tx) => handOver(tx, animalId, toKeeperIds))
    .then((value) => ({ key, outcome: value }))
    .catch((error) => ({ key, error: error.code === 'BUSY' ? 'BUSY' : String(error.message ?? error) }))
    .then((answer) => process.send(answer));
});
process.on('disconnect', () => process.exit(0));
console.log('writer ready');

async function handOver(tx, animalId, toKeeperIds) {
  await tx.db.$queryRaw`SELECT id FROM animal WHERE id = ${animalId}::uuid FOR NO KEY UPDATE`;
  const today = new Date(tx.today);
  const { id, keeperId, validFrom, ...held } = await tx.db.custody.findFirstOrThrow({
    where: { animalId, validTo: null, supersededAt: null },
  });
  const toKeeperId = toKeeperIds.find((one) => one !== keeperId);
  const transferId = uuid();
  const itemId = uuid();
  const closedAt = tx.now;
  await tx.db.transfer.create({
    data: {
      id: transferId,
      state: 'received',
      kind: 'gift',
      fromKeeperId: keeperId,
      toKeeperId,
      offeredAt: tx.now,
      receivedOn: today,
      closedAt,
      items: {
        create: { id: itemId, animalId, count: 1, open: false, arrivals: { create: { state: 'well', count: 1 } } },
      },
    },
  });
  const closedId = uuid();
  await tx.db.custody.update({ where: { id }, data: { supersededAt: tx.now, supersededBy: closedId } });
  const recorded = { recordedAt: tx.now, recordedBy: tx.actorId };
  await tx.db.custody.create({
    data: {
      ...held,
      id: closedId,
      keeperId,
      validFrom,
      validTo: today,
      leftBy: 'given',
      departureRef: transferId,
      ...recorded,
    },
  });
  await tx.db.custody.create({
    data: {
      id: uuid(),
      animalId,
      holderKind: 'keeper',
      keeperId: toKeeperId,
      validFrom: today,
      arrivedBy: 'received',
      arrivalRef: transferId,
      ...recorded,
    },
  });
  await tx.ledger.append(handedOver, { subjects: [transferId, animalId], body: { transferId } });
  await tx.outbox.send(
    remindArrivalQuarantine,
    { transferId, keeperId: toKeeperId },
    { dedupeKey: `fault:${transferId}` },
  );
  return decide({ transferId });
}
