import { requestOriginRecheck, requireAuthorities } from '../../animal/index.js';
import { currentCustody } from '../../custody/index.js';
import { type Day, decide, type Decision, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { decidePlacement, type HousingWarning, quarantineWarnings } from '../core/placement.core.js';
import { type Enclosure } from '../store/housing-read.store.js';
import {
  insertStay,
  residentsInQuarantine,
  staysOf,
  type StoredStay,
  supersedeStay,
} from '../store/housing-write.store.js';

/** Reason written on a stay that was ended by a move. */
const ENDED = 'The stay ended.';

/**
 * Puts locked animals into an enclosure of their keeper on the half-open days [from, to): the one way stays are made, all of
 * them or none. FORBIDDEN and NOT_FOUND as `requireAuthorities`; refuses as `decidePlacement`. Writes no ledger entry.
 */
export async function settleAnimals(
  tx: Tx,
  viewer: Viewer,
  move: { animalIds: readonly string[]; enclosure: Enclosure; from: Day; to: Day | null },
): Promise<Decision<HousingWarning[]>> {
  const { animalIds, enclosure, from, to } = move;
  await requireAuthorities(tx, viewer, animalIds, true);
  const [held, stays] = [await currentCustody(tx, animalIds), await staysOf(tx, animalIds)];
  for (const animalId of animalIds) {
    const custody = held.get(animalId);
    const own = custody?.holder.kind === 'keeper' && custody.holder.keeperId === enclosure.keeperId;
    const known = stays.get(animalId) ?? [];
    const possible = decidePlacement(
      {
        animalId,
        heldFrom: custody !== undefined && own ? custody.from : null,
        stays: known.map((stay) => shownStay(stay, enclosure.keeperId)),
      },
      { from, to },
      tx.today,
    );
    if (!possible.ok) return possible;
    const { ends } = possible.value;
    const ending = known.find((stay) => stay.id === ends?.stayId);
    if (ending !== undefined && ends !== null) await supersedeStay(tx, ending.id, { ...ending, to: ends.on }, ENDED);
    await insertStay(tx, { animalId, enclosureId: enclosure.id, from, to });
  }
  await requestOriginRecheck(tx, animalIds);
  if (to !== null) return decide([]);
  return decide(quarantineWarnings(enclosure.name, await residentsInQuarantine(tx, enclosure.id)));
}

/** A stay as its keeper may read of it: the name of another keeper's enclosure is not told. */
export function shownStay(stay: StoredStay, keeperId: string) {
  const { id, from, to } = stay;
  return { id, from, to, ownEnclosure: stay.keeperId === keeperId ? stay.enclosureName : null };
}
