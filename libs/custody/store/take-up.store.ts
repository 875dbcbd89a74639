import { fromDateColumn, fromDateColumnOrNull, openAccess, recordPastAccess } from '../../access/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type OwnerShare } from '../core/holder.core.js';
import { supersede } from './custody-write.store.js';
import { insertOwnerships } from './ownership-write.store.js';

/**
 * Take-up: everything an outside party had or owned becomes the keeper's, for the same days, by superseding. Periods that
 * were `received` become `taken_up`. Gives the ids of the animals concerned; lock them first (`animalsOfOutsideParty`).
 */
export async function reassign(tx: Tx, change: { outsidePartyId: string; keeperId: string }): Promise<string[]> {
  const { outsidePartyId, keeperId } = change;
  const periods = await tx.db.custody.findMany({
    where: { outsidePartyId, supersededAt: null },
    orderBy: { id: 'asc' },
  });
  for (const row of periods) {
    await supersede(tx, row, {
      holderKind: 'keeper',
      keeperId,
      outsidePartyId: null,
      arrivedBy: row.arrivedBy === 'received' ? 'taken_up' : row.arrivedBy,
    });
    const grant = { animalId: row.animalId, keeperId, relation: 'holder' as const };
    const from = fromDateColumn(row.validFrom);
    const to = fromDateColumnOrNull(row.validTo);
    // An animal that died with the party stays the keeper's to read, as it does for any last holder.
    if (to === null || row.leftBy === 'died') await openAccess(tx, [grant], from);
    else await recordPastAccess(tx, grant, { from, to }, row.recordedAt);
  }
  const titles = await tx.db.ownership.findMany({
    where: { supersededAt: null, shares: { some: { outsidePartyId } } },
    include: { shares: { orderBy: { id: 'asc' } } },
    orderBy: { id: 'asc' },
  });
  for (const title of titles) {
    const parts = new Map<string, OwnerShare>();
    for (const share of title.shares) {
      const owner: OwnerShare['owner'] =
        share.keeperId === null && share.outsidePartyId !== outsidePartyId
          ? { kind: 'outside_party', outsidePartyId: share.outsidePartyId ?? '' }
          : { kind: 'keeper', keeperId: share.keeperId ?? keeperId };
      const key = owner.kind === 'keeper' ? owner.keeperId : owner.outsidePartyId;
      parts.set(key, { owner, parts: share.parts + (parts.get(key)?.parts ?? 0) });
    }
    const from = fromDateColumn(title.validFrom);
    const to = fromDateColumnOrNull(title.validTo);
    const period = { animalId: title.animalId, from, to, state: title.state };
    await insertOwnerships(tx, [{ period, shares: [...parts.values()] }], title.id);
    const grant = { animalId: title.animalId, keeperId, relation: 'owner' as const };
    if (to === null) await openAccess(tx, [grant], from);
    else await recordPastAccess(tx, grant, { from, to }, title.recordedAt);
  }
  return [...new Set([...periods, ...titles].map((row) => row.animalId))];
}

/** Ids of the animals an outside party has, had or owns a share of: what `reassign` will touch. */
export async function animalsOfOutsideParty(tx: Tx, outsidePartyId: string): Promise<string[]> {
  const [periods, titles] = [
    await tx.db.custody.findMany({ where: { outsidePartyId, supersededAt: null }, select: { animalId: true } }),
    await tx.db.ownership.findMany({
      where: { supersededAt: null, shares: { some: { outsidePartyId } } },
      select: { animalId: true },
    }),
  ];
  return [...new Set([...periods, ...titles].map((row) => row.animalId))];
}
