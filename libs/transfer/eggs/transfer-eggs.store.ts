import { toDateColumn } from '../../access/index.js';
import { endShares, type ShareSubject, takeOffWay } from '../../breeding/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Transfer, type TransferEgg } from '../core/transfer.core.js';

/** Eggs of the clutches, named by their first versions, that are in an open transfer. */
export async function promisedEggs(tx: Tx, clutchIds: readonly string[]): Promise<Map<string, string>> {
  if (clutchIds.length === 0) return new Map();
  const rows = await tx.db.transferEgg.findMany({
    where: { open: true, egg: { clutch: { versions: { some: { id: { in: [...clutchIds] } } } } } },
    select: { eggId: true, transferId: true },
  });
  return new Map(rows.map(({ eggId, transferId }) => [eggId, transferId]));
}

/** Writes how eggs arrived, or that they were left out; either way they are free for another transfer. */
export async function saveEggs(tx: Tx, transferId: string, eggs: readonly TransferEgg[]): Promise<void> {
  // What became of many is the same: as many statements as there are different ends, not as there are eggs.
  const alike = new Map<string, TransferEgg[]>();
  for (const egg of eggs) {
    const end = `${egg.arrival} ${egg.receivedOn} ${egg.notSent}`;
    alike.set(end, [...(alike.get(end) ?? []), egg]);
  }
  for (const group of alike.values()) {
    const [{ arrival, receivedOn, notSent }] = group as [TransferEgg];
    await tx.db.transferEgg.updateMany({
      where: { transferId, eggId: { in: group.map(({ eggId }) => eggId) } },
      data: { open: false, arrival, notSent, receivedOn: receivedOn === null ? null : toDateColumn(receivedOn) },
    });
  }
}

/** Nothing came of a transfer: its eggs are free, with the giver, and nothing of their records is shared any more. */
export async function letGo(tx: Tx, transferId: string): Promise<void> {
  await tx.db.transferEgg.updateMany({ where: { transferId }, data: { open: false } });
  await takeOffWay(tx, transferId);
  await endShares(tx, transferId);
}

/** What of the breeding records goes along: the clutches of its eggs, and what can have made its gravid females gravid. */
export function sharedBy({ items, eggs }: Pick<Transfer, 'items' | 'eggs'>): ShareSubject[] {
  const dams = items.filter((item) => item.gravid && !item.notSent).map(({ animalId }) => ({ damId: animalId }));
  const clutches = [...new Set(eggs.filter((egg) => !egg.notSent).map(({ clutchId }) => clutchId))];
  return [...dams, ...clutches.map((clutchId) => ({ clutchId }))];
}
