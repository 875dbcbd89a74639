import { type Day } from '../../kernel/index.js';
import { toDateColumn } from '../../access/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Payment } from '../core/transfer.core.js';

/** Writes a payment the receiver declared. */
export async function insertPayment(tx: Tx, transferId: string, payment: Payment): Promise<void> {
  const { id, minor, paidOn, state, note } = payment;
  await tx.db.transferPayment.create({
    data: { id, transferId, minor: BigInt(minor), paidOn: toDateColumn(paidOn), state, note, declaredAt: tx.now },
  });
}

/** Writes the giver's answer to a payment. */
export async function saveAnswer(tx: Tx, { id, state, answerNote }: Payment): Promise<void> {
  await tx.db.transferPayment.update({ where: { id }, data: { state, answerNote, answeredAt: tx.now } });
}

/** The transfer of a payment; null when there is no such payment. Read nothing of it before `lock` has let it through. */
export async function findTransferOf(tx: Tx, paymentId: string): Promise<string | null> {
  const row = await tx.db.transferPayment.findUnique({ where: { id: paymentId }, select: { transferId: true } });
  return row?.transferId ?? null;
}

/** One record whose title waits, with the item of the transfer it came by. */
export type WaitingRecord = { readonly itemId: string; readonly animalId: string };

/**
 * Records of a transfer whose property waits for payment: what arrived, and what the receiver has since split off or raised
 * from a lot of it. What went back to a keeper is none of them any more; what died or is missing still is.
 */
export async function findWaitingRecords(tx: Tx, transferId: string): Promise<WaitingRecord[]> {
  return tx.db.$queryRaw<WaitingRecord[]>`
    WITH RECURSIVE part AS (
      SELECT i.id AS item_id, i.animal_id, t.to_keeper_id AS buyer
      FROM transfer_item i JOIN transfer t ON t.id = i.transfer_id
      WHERE t.id = ${transferId}::uuid AND i.title_due
      UNION
      SELECT p.item_id, c.animal_id, p.buyer
      FROM part p JOIN custody c ON c.arrival_ref = p.animal_id AND c.arrived_by IN ('split', 'raised')
        AND c.superseded_at IS NULL AND c.keeper_id = p.buyer
    )
    SELECT p.item_id AS "itemId", p.animal_id AS "animalId" FROM part p
    WHERE NOT EXISTS (SELECT 1 FROM custody c WHERE c.animal_id = p.animal_id AND c.superseded_at IS NULL
      AND c.valid_to IS NULL AND c.keeper_id <> p.buyer)
    ORDER BY p.animal_id`;
}

/**
 * The item by which each record waits for payment, by record: that of the record itself, or of the lot it was split off or raised
 * from. None for what its buyer has no more.
 */
export async function readWaitingItems(
  tx: Tx,
  animalIds: readonly string[],
): Promise<Map<string, { readonly itemId: string; readonly transferId: string }>> {
  const rows = await tx.db.$queryRaw<{ animalId: string; itemId: string; transferId: string }[]>`
    WITH RECURSIVE up AS (
      SELECT c.animal_id, c.animal_id AS id, c.keeper_id AS buyer FROM custody c
      WHERE c.animal_id = ANY(${[...animalIds]}::uuid[]) AND c.superseded_at IS NULL AND c.valid_to IS NULL
      UNION
      SELECT u.animal_id, c.arrival_ref, u.buyer FROM up u JOIN custody c ON c.animal_id = u.id
        AND c.arrived_by IN ('split', 'raised') AND c.superseded_at IS NULL AND c.keeper_id = u.buyer
    )
    SELECT u.animal_id AS "animalId", i.id AS "itemId", t.id AS "transferId" FROM up u
    JOIN transfer_item i ON i.animal_id = u.id AND i.title_due JOIN transfer t ON t.id = i.transfer_id AND t.to_keeper_id = u.buyer`;
  return new Map(rows.map(({ animalId, ...item }) => [animalId, item]));
}

/** Property of these items waits no more. */
export async function endWaiting(tx: Tx, itemIds: readonly string[]): Promise<void> {
  await tx.db.transferItem.updateMany({ where: { id: { in: [...itemIds] } }, data: { titleDue: false } });
}

/** After animals went back from `buyerId`: items of which nothing is left with the buyer wait for no payment any more. */
export async function endWaitingOfReturned(tx: Tx, buyerId: string): Promise<void> {
  const items = await tx.db.transferItem.findMany({
    where: { titleDue: true, transfer: { toKeeperId: buyerId } },
    select: { id: true, transferId: true },
  });
  const left = new Set<string>();
  for (const transferId of new Set(items.map((item) => item.transferId)))
    for (const { itemId } of await findWaitingRecords(tx, transferId)) left.add(itemId);
  await endWaiting(
    tx,
    items.map(({ id }) => id).filter((id) => !left.has(id)),
  );
}

/** Notes that a transfer is paid up, or only that it has moved on; its version is that of the locked row. */
export async function movePaymentOn(tx: Tx, transferId: string, paidUpOn: Day | null): Promise<void> {
  await tx.db.transfer.update({
    where: { id: transferId },
    data: { version: { increment: 1 }, ...(paidUpOn === null ? {} : { paidUpOn: toDateColumn(paidUpOn) }) },
  });
}
