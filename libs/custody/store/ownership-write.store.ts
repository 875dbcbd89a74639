import { v7 as uuid } from 'uuid';
import { closeAccess, fromDateColumn, type Grant, openAccess, toDateColumn } from '../../access/index.js';
import { type Day, decide, type Decision, refuse } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type OwnerShare } from '../core/holder.core.js';

const ownerOf = (row: { keeperId: string | null; outsidePartyId: string | null }): OwnerShare['owner'] =>
  row.keeperId !== null
    ? { kind: 'keeper', keeperId: row.keeperId }
    : { kind: 'outside_party', outsidePartyId: row.outsidePartyId ?? '' };

/** The owners of each of the animals now, by animal id. */
export async function currentOwners(tx: Tx, animalIds: readonly string[]): Promise<Map<string, OwnerShare[]>> {
  const rows = await tx.db.ownership.findMany({
    where: { animalId: { in: [...animalIds] }, supersededAt: null, validTo: null },
    include: { shares: { orderBy: { id: 'asc' } } },
  });
  return new Map(
    rows.map((row) => [row.animalId, row.shares.map((share) => ({ owner: ownerOf(share), parts: share.parts }))]),
  );
}

/**
 * Makes `shares` the owners of a locked animal from `from` on, and keeps their access in step: who owns it no longer reads
 * what was recorded until now. `shares` has passed `checkShares`; `disputed` are those by the record while owners disagree.
 * Refuses OWNERSHIP_DAY_TOO_EARLY before the present owners had it.
 */
export async function setOwners(
  tx: Tx,
  change: { animalId: string; from: Day; shares: readonly OwnerShare[]; state?: Period['state'] },
): Promise<Decision<null>> {
  const { animalId, from, shares, state = 'agreed' } = change;
  const before = await tx.db.ownership.findFirst({
    where: { animalId, supersededAt: null, validTo: null },
    include: { shares: true },
  });
  if (before !== null) {
    const since = fromDateColumn(before.validFrom);
    if (from < since) {
      const blockers = [{ kind: 'animal', id: animalId, remedy: 'Read its record again.' }];
      return refuse('OWNERSHIP_DAY_TOO_EARLY', `The present owners have had it only since ${since}.`, { blockers });
    }
    const id = await insertOwnership(
      tx,
      { animalId, from: since, to: from, state: before.state },
      before.shares.map((share) => ({ owner: ownerOf(share), parts: share.parts })),
      before.id,
    );
    await tx.db.ownership.update({ where: { id: before.id }, data: { supersededBy: id } });
  }
  await insertOwnership(tx, { animalId, from, to: null, state }, shares, null);
  const owners = ownerGrants(animalId, shares);
  const stays = new Set(owners.map((grant) => grant.keeperId));
  const gone = ownerGrants(
    animalId,
    (before?.shares ?? []).map((share) => ({ owner: ownerOf(share), parts: share.parts })),
  ).filter((grant) => !stays.has(grant.keeperId));
  await closeAccess(tx, gone, from);
  await openAccess(tx, owners, from);
  return decide(null);
}

/** Records whose owners disagree stay as they are, and so do their parts. Refuses OWNERSHIP_DISPUTED, naming them. */
export async function requireUndisputed(tx: Tx, animalIds: readonly string[]): Promise<Decision<null>> {
  const disputed = await tx.db.ownership.findMany({
    where: { animalId: { in: [...animalIds] }, supersededAt: null, validTo: null, state: 'disputed' },
    select: { animalId: true },
  });
  if (disputed.length === 0) return decide(null);
  const remedy = 'Settle the ownership first.';
  return refuse(
    'OWNERSHIP_DISPUTED',
    `Whose property it is, is disputed, so the record is not divided or joined. ${remedy}`,
    {
      blockers: disputed.map(({ animalId }) => ({ kind: 'animal', id: animalId, remedy })),
    },
  );
}

/** Whether two records are the property of the same owners, each with the same part of the whole. */
export async function haveSameOwners(tx: Tx, oneId: string, otherId: string): Promise<boolean> {
  const owners = await currentOwners(tx, [oneId, otherId]);
  return sharesText(owners.get(oneId) ?? []) === sharesText(owners.get(otherId) ?? []);
}

/** Shares in a form that is equal where owners and their parts of the whole are. */
function sharesText(shares: readonly OwnerShare[]): string {
  const whole = shares.reduce((sum, { parts }) => sum + parts, 0);
  const texts = shares.map(({ owner, parts }) => {
    const who = owner.kind === 'keeper' ? owner.keeperId : owner.outsidePartyId;
    return `${who} ${parts / whole}`;
  });
  return texts.sort().join();
}

type Period = { animalId: string; from: Day; to: Day | null; state: 'agreed' | 'disputed' };

/** Writes one period with its shares; `replaces` steps back first, because the exclusion constraint does not wait for the commit. */
export async function insertOwnership(
  tx: Tx,
  period: Period,
  shares: readonly OwnerShare[],
  replaces: string | null,
): Promise<string> {
  const id = uuid();
  if (replaces !== null) await tx.db.ownership.update({ where: { id: replaces }, data: { supersededAt: tx.now } });
  await tx.db.ownership.create({
    data: {
      id,
      animalId: period.animalId,
      state: period.state,
      validFrom: toDateColumn(period.from),
      validTo: period.to === null ? null : toDateColumn(period.to),
      recordedAt: tx.now,
      recordedBy: tx.actorId ?? period.animalId,
    },
  });
  await tx.db.ownershipShare.createMany({
    data: shares.map(({ owner, parts }) => ({
      id: uuid(),
      ownershipId: id,
      keeperId: owner.kind === 'keeper' ? owner.keeperId : null,
      outsidePartyId: owner.kind === 'outside_party' ? owner.outsidePartyId : null,
      parts,
    })),
  });
  return id;
}

export function ownerGrants(animalId: string, shares: readonly OwnerShare[]): Grant[] {
  return shares.flatMap(({ owner }) =>
    owner.kind === 'keeper' ? [{ animalId, keeperId: owner.keeperId, relation: 'owner' as const }] : [],
  );
}
