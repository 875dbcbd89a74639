import { v7 as uuid } from 'uuid';
import { fromDateColumn, type Grant, moveAccess, toDateColumn } from '../../access/index.js';
import { type Day, decide, type Decision, refuse } from '../../kernel/index.js';
import { inserting, Prisma, type Tx } from '../../platform/prisma/index.js';
import { type OwnerShare } from '../core/holder.core.js';

/** The period in force of an animal, with who owns it. */
type OpenOwnership = {
  readonly id: string;
  readonly animalId: string;
  readonly state: Period['state'];
  readonly validFrom: Date;
  readonly shares: readonly OwnerShare[];
};

async function openPeriods(tx: Tx, animalIds: readonly string[]): Promise<OpenOwnership[]> {
  return tx.db.$queryRaw<OpenOwnership[]>`
    SELECT o.id, o.animal_id AS "animalId", o.state::text AS state, o.valid_from AS "validFrom",
      (SELECT coalesce(jsonb_agg(jsonb_build_object('parts', s.parts, 'owner', CASE WHEN s.keeper_id IS NOT NULL
          THEN jsonb_build_object('kind', 'keeper', 'keeperId', s.keeper_id)
          ELSE jsonb_build_object('kind', 'outside_party', 'outsidePartyId', s.outside_party_id) END) ORDER BY s.id), '[]')
        FROM ownership_share s WHERE s.ownership_id = o.id) AS shares
    FROM ownership o
    WHERE o.animal_id = ANY(${[...animalIds]}::uuid[]) AND o.superseded_at IS NULL AND o.valid_to IS NULL`;
}

/** The owners of each of the animals now, by animal id. */
export async function currentOwners(tx: Tx, animalIds: readonly string[]): Promise<Map<string, OwnerShare[]>> {
  return new Map((await openPeriods(tx, animalIds)).map(({ animalId, shares }) => [animalId, [...shares]]));
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
  return changeOwners(tx, { ...change, next: () => decide(change.shares) });
}

/** The same where the new shares follow from those in force: `next` is asked once, and its refusal given. */
export async function changeOwners(
  tx: Tx,
  change: {
    animalId: string;
    from: Day;
    next: (owners: readonly OwnerShare[]) => Decision<readonly OwnerShare[]>;
    state?: Period['state'];
  },
): Promise<Decision<null>> {
  const { animalId, from, state = 'agreed' } = change;
  const [before] = await openPeriods(tx, [animalId]);
  const shares = change.next(before?.shares ?? []);
  if (!shares.ok) return shares;
  const periods: Ownership[] = [{ period: { animalId, from, to: null, state }, shares: shares.value }];
  if (before !== undefined) {
    const since = fromDateColumn(before.validFrom);
    if (from < since) {
      const blockers = [{ kind: 'animal', id: animalId, remedy: 'Read its record again.' }];
      return refuse('OWNERSHIP_DAY_TOO_EARLY', `The present owners have had it only since ${since}.`, { blockers });
    }
    periods.unshift({ period: { animalId, from: since, to: from, state: before.state }, shares: before.shares });
  }
  await insertOwnerships(tx, periods, before?.id ?? null);
  const open = ownerGrants(animalId, shares.value);
  const stays = new Set(open.map((grant) => grant.keeperId));
  const close = ownerGrants(animalId, before?.shares ?? []).filter((grant) => !stays.has(grant.keeperId));
  await moveAccess(tx, { close, open }, from);
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

type Ownership = { readonly period: Period; readonly shares: readonly OwnerShare[] };

/**
 * Writes periods with their shares. One that they replace is superseded by the first, in the same statement: it steps back
 * before they are made, because the exclusion constraint does not wait for the commit.
 */
export async function insertOwnerships(tx: Tx, periods: readonly Ownership[], replaces: string | null): Promise<void> {
  const made = periods.map((each) => ({ ...each, id: uuid() }));
  const rows = made.map(({ id, period }) => ({
    id,
    animalId: period.animalId,
    state: period.state,
    validFrom: toDateColumn(period.from),
    validTo: period.to === null ? null : toDateColumn(period.to),
    recordedAt: tx.now,
    recordedBy: tx.actorId ?? period.animalId,
  }));
  const shares = made.flatMap(({ id, shares }) =>
    shares.map(({ owner, parts }) => ({
      id: uuid(),
      ownershipId: id,
      keeperId: owner.kind === 'keeper' ? owner.keeperId : null,
      outsidePartyId: owner.kind === 'outside_party' ? owner.outsidePartyId : null,
      parts,
    })),
  );
  const owned = shares.length === 0 ? Prisma.sql`SELECT` : inserting('ownershipShare', shares);
  const written = await tx.db.$executeRaw`
    WITH back AS (
      UPDATE ownership SET superseded_at = ${tx.now}, superseded_by = ${made[0]?.id}::uuid
      WHERE id = ${replaces}::uuid RETURNING id), owned AS (${owned})
    ${inserting('ownership', rows)} WHERE ${replaces === null} OR EXISTS (SELECT FROM back)`;
  if (written !== rows.length) throw new Error('A period of ownership to be replaced is not there.');
}

export function ownerGrants(animalId: string, shares: readonly OwnerShare[]): Grant[] {
  return shares.flatMap(({ owner }) =>
    owner.kind === 'keeper' ? [{ animalId, keeperId: owner.keeperId, relation: 'owner' as const }] : [],
  );
}
