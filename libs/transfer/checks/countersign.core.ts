import { type Day, decide, type Decision, refuse } from '../../kernel/index.js';
import { type Side, type Transfer } from '../core/transfer.core.js';

/** Whether the side's guardian has to agree before anything is sent on the day, and has not. */
export function awaitedSides({ countersigning }: Pick<Transfer, 'countersigning'>, on: Day): Side[] {
  return countersigning.filter(({ minorUntil, signed }) => !signed && minorUntil > on).map(({ side }) => side);
}

/**
 * The sides a guardian countersigns now, of those whose keepers it guards: before the animals are sent, and once. Refused
 * TRANSFER_COUNTERSIGN_LATE, COUNTERSIGNED_ALREADY.
 */
export function countersignTransfer(transfer: Transfer, guarded: readonly Side[], today: Day): Decision<Side[]> {
  const unsent = requireUnsent(transfer);
  if (!unsent.ok) return unsent;
  const sides = awaitedSides(transfer, today).filter((side) => guarded.includes(side));
  if (sides.length === 0)
    return refuse('COUNTERSIGNED_ALREADY', 'A guardian has countersigned this transfer for this side already.');
  return decide(sides);
}

/**
 * The sides whose countersignature a guardian takes back, of those whose keepers it guards: before the animals are sent. Refused
 * TRANSFER_COUNTERSIGN_LATE, COUNTERSIGNATURE_NONE.
 */
export function withdrawCountersignature(transfer: Transfer, guarded: readonly Side[]): Decision<Side[]> {
  const unsent = requireUnsent(transfer);
  if (!unsent.ok) return unsent;
  const sides = transfer.countersigning
    .filter(({ side, signed }) => signed && guarded.includes(side))
    .map(({ side }) => side);
  if (sides.length === 0)
    return refuse('COUNTERSIGNATURE_NONE', 'No countersignature of your side stands: there is nothing to take back.');
  return decide(sides);
}

function requireUnsent({ state }: Transfer): Decision<null> {
  if (state === 'offered' || state === 'accepted') return decide(null);
  return refuse(
    'TRANSFER_COUNTERSIGN_LATE',
    'The animals are sent, or the transfer is over: what was agreed to stays as it is.',
  );
}
