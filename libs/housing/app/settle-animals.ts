import { requestOriginRecheck, requireAuthorities } from '../../animal/index.js';
import { currentCustody, type OpenCustody } from '../../custody/index.js';
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
    const settled = await settle(tx, held.get(animalId), stays.get(animalId) ?? [], { animalId, enclosure, from, to });
    if (!settled.ok) return settled;
  }
  await requestOriginRecheck(tx, animalIds);
  if (to !== null) return decide([]);
  return decide(quarantineWarnings(enclosure.name, await residentsInQuarantine(tx, enclosure.id)));
}

/**
 * Puts one locked animal into an enclosure; `held` is who has it, `known` are its stays in force. Refuses as `decidePlacement`,
 * asks nobody's leave.
 */
export async function settle(
  tx: Tx,
  held: OpenCustody | undefined,
  known: readonly StoredStay[],
  stay: { animalId: string; enclosure: Pick<Enclosure, 'id' | 'keeperId'>; from: Day; to: Day | null },
): Promise<Decision<null>> {
  const { animalId, enclosure, from, to } = stay;
  const own = held?.holder.kind === 'keeper' && held.holder.keeperId === enclosure.keeperId;
  const possible = decidePlacement(
    {
      animalId,
      heldFrom: held !== undefined && own ? held.from : null,
      stays: known.map((each) => shownStay(each, enclosure.keeperId)),
    },
    { from, to },
    tx.today,
  );
  if (!possible.ok) return possible;
  const { ends } = possible.value;
  const ending = known.find((each) => each.id === ends?.stayId);
  if (ending !== undefined && ends !== null) await supersedeStay(tx, ending.id, { ...ending, to: ends.on }, ENDED);
  await insertStay(tx, { animalId, enclosureId: enclosure.id, from, to });
  return decide(null);
}

/** A stay as its keeper may read of it: the name of another keeper's enclosure is not told. */
export function shownStay(stay: StoredStay, keeperId: string) {
  const { id, from, to } = stay;
  return { id, from, to, ownEnclosure: stay.keeperId === keeperId ? stay.enclosureName : null };
}
