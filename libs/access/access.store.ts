import { v7 as uuid } from 'uuid';
import { type Day } from '../kernel/index.js';
import { inserting, insertRows, Prisma, type Tx } from '../platform/prisma/index.js';
import { toDateColumn } from './day-column.js';

/** A keeper's relation to an animal, as it follows from custody, ownership or an offer. */
export type Grant = {
  readonly animalId: string;
  readonly keeperId: string;
  readonly relation: 'holder' | 'owner' | 'receiver';
};

/**
 * Lets keepers read animals from `from` on; called in the transaction that writes the custody, ownership or offer behind
 * it. A relation already in force is left as it is.
 */
export async function openAccess(tx: Tx, grants: readonly Grant[], from: Day): Promise<void> {
  await openAccessSince(
    tx,
    grants.map((grant) => ({ ...grant, from })),
  );
}

/** The same for many relations, each from a day of its own. */
export async function openAccessSince(tx: Tx, grants: readonly (Grant & { readonly from: Day })[]): Promise<void> {
  const rows = grants.map(({ from, ...grant }) => ({ id: uuid(), ...grant, validFrom: toDateColumn(from) }));
  await insertRows(tx.db, 'animalAccess', rows, { skipDuplicates: true });
}

/**
 * Ends relations in force on `on`. A holder or owner goes on reading what was recorded until now; a receiver whose offer
 * has closed reads nothing any more. Relations that are not in force are left alone.
 */
export async function closeAccess(tx: Tx, grants: readonly Grant[], on: Day): Promise<void> {
  await moveAccess(tx, { close: grants, open: [] }, on);
}

/**
 * Ends relations as `closeAccess` does and opens others as `openAccess` does, on the same day, in one statement: custody and
 * property move in the busiest transactions there are. No relation is in both.
 */
export async function moveAccess(
  tx: Tx,
  { close, open }: { readonly close: readonly Grant[]; readonly open: readonly Grant[] },
  on: Day,
): Promise<void> {
  if (close.length === 0) return openAccess(tx, open, on);
  const rows = open.map((grant) => ({ id: uuid(), ...grant, validFrom: toDateColumn(on) }));
  const opened =
    rows.length === 0 ? Prisma.sql`SELECT` : Prisma.sql`${inserting('animalAccess', rows)} ON CONFLICT DO NOTHING`;
  const left = close.filter((grant) => grant.relation !== 'receiver');
  const [row] = await tx.db.$queryRaw<{ guests: boolean }[]>`
    WITH closed AS (
      UPDATE animal_access a SET valid_to = ${toDateColumn(on)}::date,
        reads_until = CASE WHEN a.relation <> 'receiver' THEN ${tx.now}::timestamptz END
      FROM unnest(${close.map((grant) => grant.animalId)}::uuid[], ${close.map((grant) => grant.keeperId)}::uuid[],
        ${close.map((grant) => grant.relation)}::access_relation[]) AS c(animal_id, keeper_id, relation)
      WHERE a.animal_id = c.animal_id AND a.keeper_id = c.keeper_id AND a.relation = c.relation AND a.valid_to IS NULL
    ), opened AS (${opened})
    SELECT EXISTS (
      SELECT FROM reading_grant r JOIN animal_access a ON a.id = r.access_id
      WHERE r.ended_at IS NULL AND r.granted_by = ANY(${left.map((grant) => grant.keeperId)}::uuid[])
        AND a.animal_id = ANY(${left.map((grant) => grant.animalId)}::uuid[])) AS guests`;
  if (row?.guests === true) await endGuestsOfLeavers(tx, left);
}

/** Whom a keeper let in as a guest goes with that keeper: once it neither has nor owns the animal, the guest reads nothing more. */
async function endGuestsOfLeavers(tx: Tx, left: readonly Grant[]): Promise<void> {
  await tx.db.$executeRaw`
    WITH ended AS (
      UPDATE reading_grant r SET ended_at = ${tx.now}
      FROM animal_access g,
           unnest(${left.map((grant) => grant.animalId)}::uuid[], ${left.map((grant) => grant.keeperId)}::uuid[]) AS l(animal_id, keeper_id)
      WHERE g.id = r.access_id AND g.animal_id = l.animal_id AND r.granted_by = l.keeper_id AND r.ended_at IS NULL
        AND NOT EXISTS (SELECT 1 FROM animal_access o WHERE o.animal_id = l.animal_id AND o.keeper_id = l.keeper_id
                          AND o.relation IN ('holder', 'owner') AND o.valid_to IS NULL)
      RETURNING r.access_id)
    UPDATE animal_access a SET valid_to = least(a.valid_to, greatest(a.valid_from, ${toDateColumn(tx.today)}::date))
    FROM ended e WHERE a.id = e.access_id`;
}

/** Records that a keeper had an animal over past days, and reads what was recorded until `readsUntil`. */
export async function recordPastAccess(
  tx: Tx,
  grant: Grant,
  days: { from: Day; to: Day },
  readsUntil: Date,
): Promise<void> {
  await tx.db.animalAccess.create({
    data: { id: uuid(), ...grant, validFrom: toDateColumn(days.from), validTo: toDateColumn(days.to), readsUntil },
  });
}
