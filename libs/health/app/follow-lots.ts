import { followLots } from '../../custody/index.js';
import { type Day, decide, type Decision, refuse } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { animalState } from '../core/quarantine.core.js';
import { findOpenGroups, readQuarantines, type StoredQuarantine } from '../store/quarantine-read.store.js';
import { insertEntries, leaveQuarantine, lockQuarantines } from '../store/quarantine-write.store.js';

/** What comes out of a lot was in quarantine with it, since the same day: its days neither begin anew nor are forgotten. */
async function parted(tx: Tx, parting: { fromId: string; toIds: readonly string[]; on: Day }): Promise<void> {
  const group = (await openGroups(tx, [parting.fromId])).get(parting.fromId);
  const stay = group?.entries.find((entry) => entry.animalId === parting.fromId && entry.leftOn === null);
  if (group === undefined || stay === undefined) return;
  await insertEntries(tx, group, parting.toIds, stay.enteredOn);
}

/**
 * Lots are joined out of quarantine, or within one group. A quarantine that runs would otherwise be broken, or begin for
 * animals that were not there.
 */
async function joining(
  tx: Tx,
  { fromId, intoId, on }: { fromId: string; intoId: string; on: Day },
): Promise<Decision<null>> {
  const groups = await openGroups(tx, [fromId, intoId]);
  const [from, into] = [groups.get(fromId), groups.get(intoId)];
  const runs = (group: StoredQuarantine | undefined, animalId: string): boolean =>
    group !== undefined && animalState(group, animalId, on).kind === 'in_quarantine';
  if (from?.id !== into?.id && (runs(from, fromId) || runs(into, intoId))) {
    const blockers = [from, into].flatMap((group) =>
      group === undefined
        ? []
        : [{ kind: 'quarantine', id: group.id, remedy: 'Wait until its days are over, or let the other lot join it.' }],
    );
    return refuse('LOT_JOIN_QUARANTINE', 'One of the lots is in quarantine, and the other is not in the same group.', {
      blockers,
    });
  }
  if (from !== undefined) await leaveQuarantine(tx, [fromId], on);
  return decide(null);
}

/** The groups in which animals have an open entry, locked and read after the lock, by animal. */
async function openGroups(tx: Tx, animalIds: readonly string[]): Promise<Map<string, StoredQuarantine>> {
  const open = await findOpenGroups(tx.db, animalIds);
  const ids = [...new Set(open.values())];
  if (ids.length === 0) return new Map();
  await lockQuarantines(tx, ids);
  const read = new Map((await readQuarantines(tx.db, ids)).map((group) => [group.id, group]));
  return new Map(
    [...(await findOpenGroups(tx.db, animalIds))].flatMap(([animalId, groupId]) => {
      const group = read.get(groupId);
      return group === undefined ? [] : [[animalId, group] as const];
    }),
  );
}

followLots({ parted, joining });
