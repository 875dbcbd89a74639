import { v7 as uuid } from 'uuid';
import { toDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { insertRows, insertTogether, type Tx } from '../../platform/prisma/index.js';
import { type StayOver, type TaxonRule } from '../core/quarantine-rules.core.js';
import { type RestartScope } from '../core/quarantine.core.js';
import { findOpenGroups } from './quarantine-read.store.js';

/** A group to open with its first animals. */
export type NewQuarantine = {
  readonly keeperId: string;
  readonly name: string;
  readonly days: number;
  readonly daysSource: string;
  readonly restartScope: RestartScope;
  readonly transferId: string | null;
  readonly animalIds: readonly string[];
  readonly enteredOn: Day;
};

/**
 * Locks groups against other writers until the transaction ends, in id order. Lock animals first where both are needed;
 * read what decides afterwards.
 */
export async function lockQuarantines(tx: Tx, ids: readonly string[]): Promise<void> {
  await tx.db
    .$queryRaw`SELECT id FROM quarantine_group WHERE id = ANY(${[...ids]}::uuid[]) ORDER BY id FOR NO KEY UPDATE`;
}

/** What decides about animals of a keeper that enter quarantine: alive or not, and the rule of the taxon. Unknown ids are missing. */
export async function readQuarantineRules(
  tx: Tx,
  animalIds: readonly string[],
): Promise<Map<string, TaxonRule & { alive: boolean }>> {
  const rows = await tx.db.$queryRaw<(TaxonRule & { id: string; alive: boolean })[]>`
    SELECT a.id, t.scientific_name AS "scientificName", t.quarantine_days AS days, t.quarantine_source AS source,
      a.fate = 'alive' AND a.count > 0 AS alive
    FROM animal a JOIN taxon t ON t.id = a.taxon_id WHERE a.id = ANY(${[...animalIds]}::uuid[])`;
  return new Map(rows.map(({ id, ...rule }) => [id, rule]));
}

/** Opens a group. Gives its id. */
export async function insertQuarantine(tx: Tx, group: NewQuarantine): Promise<string> {
  const id = uuid();
  const { animalIds, enteredOn, ...columns } = group;
  await insertTogether(tx.db, [
    { into: 'quarantineGroup', rows: [{ id, ...columns, openedAt: tx.now }] },
    { into: 'quarantineEntry', rows: entryRows(tx, { id, keeperId: group.keeperId }, animalIds, enteredOn) },
  ]);
  return id;
}

/** Lets animals enter a locked group. The database refuses one that is in a group already: ALREADY_IN_QUARANTINE. */
export async function insertEntries(
  tx: Tx,
  group: { readonly id: string; readonly keeperId: string },
  animalIds: readonly string[],
  enteredOn: Day,
): Promise<void> {
  await insertRows(tx.db, 'quarantineEntry', entryRows(tx, group, animalIds, enteredOn));
}

function entryRows(
  tx: Tx,
  group: { readonly id: string; readonly keeperId: string },
  animalIds: readonly string[],
  enteredOn: Day,
) {
  return animalIds.map((animalId) => ({
    id: uuid(),
    groupId: group.id,
    animalId,
    enteredOn: toDateColumn(enteredOn),
    recordedAt: tx.now,
    // Rows name who recorded them; where the server acts by itself, the keeper concerned stands in.
    recordedBy: tx.actorId ?? group.keeperId,
  }));
}

/** Closes stays that were over before. */
export async function closeStays(tx: Tx, stays: readonly StayOver[]): Promise<void> {
  for (const { entryId, leftOn } of stays) {
    await tx.db.quarantineEntry.update({ where: { id: entryId }, data: { leftOn: toDateColumn(leftOn) } });
  }
}

/** Ends stays of a locked group on a day; `reason` where it was before the days were over. */
export async function closeQuarantine(
  tx: Tx,
  group: { readonly id: string; readonly entryIds: readonly string[] },
  on: Day,
  reason: string | null,
): Promise<void> {
  const day = toDateColumn(on);
  await tx.db.quarantineEntry.updateMany({ where: { id: { in: [...group.entryIds] } }, data: { leftOn: day } });
  if (reason === null) return;
  await tx.db.quarantineGroup.update({ where: { id: group.id }, data: { releasedOn: day, releaseReason: reason } });
}

/**
 * Ends the stay of animals whose custody ends on a day, in the transaction that ends it; call `lockAnimals` first. The
 * clock of those who stay runs on: the animals were there. Gives the groups that were left. A stay that began later, by
 * a slip of dates, is closed on the day it began.
 */
export function leaveQuarantine(tx: Tx, animalIds: readonly string[], on: Day): Promise<string[]> {
  return endStays(tx, animalIds, on, false);
}

async function endStays(tx: Tx, animalIds: readonly string[], on: Day, merged: boolean): Promise<string[]> {
  const groupIds = [...new Set((await findOpenGroups(tx.db, animalIds)).values())].sort();
  if (groupIds.length === 0) return [];
  await lockQuarantines(tx, groupIds);
  await tx.db.$executeRaw`
    UPDATE quarantine_entry SET left_on = greatest(entered_on, ${toDateColumn(on)}::date), merged = ${merged}
    WHERE animal_id = ANY(${[...animalIds]}::uuid[]) AND left_on IS NULL`;
  return groupIds;
}

/** Ends the stay of a locked animal whose record is merged on a day into that of another one in its group, until that is undone. */
export async function leaveAsMerged(tx: Tx, animalId: string, on: Day): Promise<void> {
  await endStays(tx, [animalId], on, true);
}

/**
 * Takes that back: the animal is there again, unless the group was released early since. Where its days have passed, the stay is
 * over as it would have been. Does nothing for one that left otherwise.
 */
export async function resumeStay(tx: Tx, animalId: string): Promise<void> {
  await tx.db.$executeRaw`
    UPDATE quarantine_entry e SET left_on = g.released_on, merged = false FROM quarantine_group g
    WHERE g.id = e.group_id AND e.animal_id = ${animalId}::uuid AND e.merged`;
}
