import { currentCustody, followMerges, type Merging, type Unmerging } from '../../custody/index.js';
import { decide, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { findMovedStays, MERGED, staysOf, supersedeStay } from '../store/housing-write.store.js';
import { settle } from './settle-animals.js';

/**
 * The record that ends is nowhere from that day on. Where the kept one is in no enclosure of the same keeper, it goes on in the
 * other's: two enclosures were refused before.
 */
async function merging(tx: Tx, { keepId, mergeId, on }: Merging): Promise<Decision<null>> {
  const [held, stays] = [await currentCustody(tx, [keepId, mergeId]), await staysOf(tx, [keepId, mergeId])];
  const isWith = (animalId: string, keeperId: string): boolean => {
    const holder = held.get(animalId)?.holder;
    return holder?.kind === 'keeper' && holder.keeperId === keeperId;
  };
  const present = (animalId: string) =>
    (stays.get(animalId) ?? []).find(({ to, keeperId }) => to === null && isWith(animalId, keeperId));
  const stay = present(mergeId);
  if (stay === undefined) return decide(null);
  await supersedeStay(tx, stay.id, { ...stay, to: on }, MERGED);
  if (present(keepId) !== undefined || !isWith(keepId, stay.keeperId)) return decide(null);
  const enclosure = { id: stay.enclosureId, keeperId: stay.keeperId };
  return settle(tx, held.get(keepId), stays.get(keepId) ?? [], { animalId: keepId, enclosure, from: on, to: null });
}

/** Both are where they were before the merge, unless somebody moved them or put their stays right since. */
async function unmerged(tx: Tx, merge: Unmerging): Promise<void> {
  const { ended, begun } = await findMovedStays(tx, merge);
  if (begun !== null) await supersedeStay(tx, begun.id, null, UNMERGED);
  if (ended !== null) await supersedeStay(tx, ended.id, { ...ended, to: null }, UNMERGED);
}

const UNMERGED = 'The merge of its record was undone.';

followMerges({ merging, unmerged });
