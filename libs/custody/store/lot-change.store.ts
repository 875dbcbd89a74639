import {
  changeLotRecord,
  decideJoin,
  getForWrite,
  joinLotRecords,
  type LotRevision,
  type RaisedAnimal,
  raiseRecords,
} from '../../animal/index.js';
import { copyCovers } from '../../document/index.js';
import { type Day, decide, type Decision, refuse } from '../../kernel/index.js';
import { copyParentage, joinParentage, type ParentRole } from '../../lineage/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { sameHolder } from '../core/holder.core.js';
import { begin, end } from './custody-write.store.js';
import { askJoining, tellParted } from './lot-followers.js';
import { currentOwners, haveSameOwners, requireUndisputed, setOwners } from './ownership-write.store.js';
import { inheritSharing } from './sharing-write.store.js';
import { heldOn, isThere } from './stock-write.store.js';

/** What became unknown because two lots said different things of it. */
export type JoinLoss = 'birth' | 'origin' | ParentRole;

/**
 * Changes the count of a locked lot its keeper has: some are gone or back, or it was counted anew. Refuses ANIMAL_NOT_ALIVE,
 * CUSTODY_NOT_OPEN, CUSTODY_DAY_TOO_EARLY, DAY_IN_FUTURE and as `changeLotRecord`. Writes no ledger entry.
 */
export async function changeLot(
  tx: Tx,
  at: { lotId: string; on: Day; keeperId: string },
  change: LotRevision,
): Promise<Decision<{ left: number; delta: number }>> {
  const there = await isThere(tx, at.lotId);
  if (!there.ok) return there;
  const ready = await heldOn(tx, at.lotId, at.on);
  return ready.ok ? changeLotRecord(tx, at, change) : ready;
}

/**
 * Puts all of one locked lot into another of the same holder and owners. The first record ends; what the two say differently
 * becomes unknown. Refuses as `decideJoin`, LOT_JOIN_OTHER_HOLDER, LOT_JOIN_OTHER_OWNERS, as `heldOn`, and what contexts
 * further down refuse. Writes no ledger entry.
 */
export async function joinLots(
  tx: Tx,
  join: { fromId: string; intoId: string; on: Day; keeperId: string },
): Promise<Decision<{ count: number; unknown: JoinLoss[] }>> {
  const { fromId, intoId, on } = join;
  const into = await getForWrite(tx, intoId);
  const possible = decideJoin(await getForWrite(tx, fromId), into);
  if (!possible.ok) return possible;
  const agreed = await requireUndisputed(tx, [fromId, intoId]);
  if (!agreed.ok) return agreed;
  const [one, other] = [await heldOn(tx, fromId, on), await heldOn(tx, intoId, on)];
  if (!one.ok) return one;
  if (!other.ok) return other;
  if (!sameHolder(one.value, other.value))
    return refuse('LOT_JOIN_OTHER_HOLDER', 'The lots are not with one keeper. Hand one of them over first.');
  if (!(await haveSameOwners(tx, fromId, intoId)))
    return refuse('LOT_JOIN_OTHER_OWNERS', 'The lots are not the property of the same owners in the same shares.');
  const free = await askJoining(tx, { fromId, intoId, on });
  if (!free.ok) return free;
  const joined = await joinLotRecords(tx, join);
  if (!joined.ok) return joined;
  const ended = await end(tx, { animalId: fromId, on, leftBy: 'joined', ref: intoId });
  if (!ended.ok) return ended;
  await copyCovers(tx, fromId, [intoId]);
  const parents = await joinParentage(tx, fromId, into);
  return decide({ count: joined.value.count, unknown: [...joined.value.changed, ...parents] });
}

/**
 * Takes animals out of a locked lot as individuals: taxon, line, birth, origin and parents are the lot's, and so are holder,
 * owners, documents and quarantine. Gives their ids. Refuses as `raiseRecords`, ANIMAL_NOT_ALIVE and as `heldOn`. Writes no
 * ledger entry.
 */
export async function raiseFromLot(
  tx: Tx,
  raise: { lotId: string; on: Day; keeperId: string },
  animals: readonly RaisedAnimal[],
): Promise<Decision<{ ids: string[]; left: number }>> {
  const { lotId, on } = raise;
  const there = await isThere(tx, lotId);
  if (!there.ok) return there;
  const agreed = await requireUndisputed(tx, [lotId]);
  if (!agreed.ok) return agreed;
  const ready = await heldOn(tx, lotId, on);
  if (!ready.ok) return ready;
  const owners = (await currentOwners(tx, [lotId])).get(lotId) ?? [];
  const made = await raiseRecords(tx, raise, animals);
  if (!made.ok) return made;
  const { ids, left } = made.value;
  for (const id of ids) {
    await begin(tx, { animalId: id, holder: ready.value, from: on, arrivedBy: 'raised', ref: lotId });
    const owned = await setOwners(tx, { animalId: id, from: on, shares: owners });
    if (!owned.ok) return owned;
  }
  await inheritSharing(tx, lotId, ids);
  await copyCovers(tx, lotId, ids);
  await tellParted(tx, { fromId: lotId, toIds: ids, on });
  if (left === 0) {
    const ended = await end(tx, { animalId: lotId, on, leftBy: 'raised' });
    if (!ended.ok) return ended;
  }
  const { taxonId } = await getForWrite(tx, lotId);
  for (const id of ids) await copyParentage(tx, lotId, { id, taxonId });
  return made;
}
