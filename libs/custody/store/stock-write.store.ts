import { v7 as uuid } from 'uuid';
import { getForWrite, loseFromLotRecord, type NewAnimal, recordDeathFact, splitLotRecord } from '../../animal/index.js';
import { copyCovers } from '../../document/index.js';
import { type Day, decide, type Decision, refuse, type RegisterNumber } from '../../kernel/index.js';
import { type ClaimInput, copyParentage } from '../../lineage/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Arrival, type OwnerShare } from '../core/holder.core.js';
import { begin, currentCustody, end } from './custody-write.store.js';
import { tellParted } from './lot-followers.js';
import { currentOwners, requireUndisputed, setOwners } from './ownership-write.store.js';
import { inheritSharing } from './sharing-write.store.js';
import { registerAllStock } from './register-all-stock.store.js';

/** A new record with everything that has to exist from its first moment. */
export type NewStock = {
  readonly animal: NewAnimal;
  readonly parents: readonly ClaimInput[];
  readonly from: Day;
  readonly arrivedBy: Arrival;
  readonly owners: readonly OwnerShare[];
};

/**
 * Registers an animal or lot with its holder: record, custody, ownership, access, pedigree. Parents must have passed
 * `decideParent`. Writes no ledger entry: that is the use case's.
 */
export async function registerStock(
  tx: Tx,
  stock: NewStock,
): Promise<Decision<{ id: string; registerNumber: RegisterNumber }>> {
  const id = uuid();
  const [registerNumber] = await registerAllStock(tx, stock.animal.taxonId, [
    { ...stock, id, holder: { kind: 'keeper', keeperId: stock.animal.keeperId }, ended: null },
  ]);
  if (registerNumber === undefined) throw new Error('No register number was given.');
  return decide({ id, registerNumber });
}

/**
 * Takes `count` animals out of a locked lot as a new record of its own: same taxon, line, birth, origin and parents, same
 * holder and owners from `on`. `keeperId` is who splits it. Gives the new record's id. Refuses NOT_A_LOT, LOT_TOO_SMALL,
 * LOT_SPLIT_TAKES_ALL, OWNERSHIP_DISPUTED, CUSTODY_NOT_OPEN, CUSTODY_DAY_TOO_EARLY, DAY_IN_FUTURE. Writes no ledger entry.
 */
export async function splitLot(
  tx: Tx,
  split: { lotId: string; count: number; on: Day; keeperId: string },
): Promise<Decision<{ id: string }>> {
  const there = await isThere(tx, split.lotId);
  if (!there.ok) return there;
  const agreed = await requireUndisputed(tx, [split.lotId]);
  if (!agreed.ok) return agreed;
  const ready = await heldOn(tx, split.lotId, split.on);
  if (!ready.ok) return ready;
  const owners = (await currentOwners(tx, [split.lotId])).get(split.lotId) ?? [];
  const made = await splitLotRecord(tx, split);
  if (!made.ok) return made;
  const { id } = made.value;
  await begin(tx, { animalId: id, holder: ready.value, from: split.on, arrivedBy: 'split', ref: split.lotId });
  const owned = await setOwners(tx, { animalId: id, from: split.on, shares: owners });
  if (!owned.ok) return owned;
  await inheritSharing(tx, split.lotId, [id]);
  await copyCovers(tx, split.lotId, [id]);
  await tellParted(tx, { fromId: split.lotId, toIds: [id], on: split.on });
  await copyParentage(tx, split.lotId, { id, taxonId: (await getForWrite(tx, id)).taxonId });
  return made;
}

/**
 * Takes `count` dead animals out of a locked lot; when none is left its custody ends. Refuses as `splitLot` does, except
 * that all may die. Writes no ledger entry.
 */
export async function loseFromLot(
  tx: Tx,
  loss: { lotId: string; count: number; on: Day; keeperId: string },
): Promise<Decision<{ left: number }>> {
  const there = await isThere(tx, loss.lotId);
  if (!there.ok) return there;
  const ready = await heldOn(tx, loss.lotId, loss.on);
  if (!ready.ok) return ready;
  const lost = await loseFromLotRecord(tx, loss);
  if (!lost.ok || lost.value.left > 0) return lost;
  const ended = await end(tx, { animalId: loss.lotId, on: loss.on, leftBy: 'died' });
  return ended.ok ? lost : ended;
}

/** Records the death of a locked individual and ends its custody. Refuses NOT_AN_INDIVIDUAL and as `end` does. Writes no ledger entry. */
export async function recordDeath(tx: Tx, death: Parameters<typeof recordDeathFact>[1]): Promise<Decision<null>> {
  const { kind } = await getForWrite(tx, death.animalId);
  if (kind === 'lot') return refuse('NOT_AN_INDIVIDUAL', 'This record is a lot: say how many of it died.');
  const ended = await end(tx, { animalId: death.animalId, on: death.on, leftBy: 'died' });
  if (!ended.ok) return ended;
  await recordDeathFact(tx, death);
  return decide(null);
}

/** A lot that is missing, stolen or the like is not counted: nobody sees it. */
export async function isThere(tx: Tx, lotId: string): Promise<Decision<null>> {
  const { kind, fate } = await getForWrite(tx, lotId);
  if (kind === 'lot' && fate !== 'alive' && fate !== 'dead')
    return refuse(
      'ANIMAL_NOT_ALIVE',
      `The lot is recorded as ${fate.replaceAll('_', ' ')}. Record it as found first.`,
      {
        blockers: [{ kind: 'animal', id: lotId, remedy: 'Record it as found first.' }],
      },
    );
  return decide(null);
}

/** Who has a locked record on a day. Refuses CUSTODY_NOT_OPEN, DAY_IN_FUTURE, CUSTODY_DAY_TOO_EARLY. */
export async function heldOn(tx: Tx, animalId: string, on: Day) {
  const open = (await currentCustody(tx, [animalId])).get(animalId);
  const blockers = [{ kind: 'animal', id: animalId, remedy: 'Read its record again.' }];
  if (open === undefined) return refuse('CUSTODY_NOT_OPEN', 'Nobody has this animal any more.', { blockers });
  if (on > tx.today) return refuse('DAY_IN_FUTURE', `${on} is still to come.`, { blockers });
  if (on < open.from)
    return refuse('CUSTODY_DAY_TOO_EARLY', `The present holder has had this animal only since ${open.from}.`, {
      blockers,
    });
  return decide(open.holder);
}
