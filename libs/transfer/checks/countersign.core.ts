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
  if (transfer.state !== 'offered' && transfer.state !== 'accepted')
    return refuse(
      'TRANSFER_COUNTERSIGN_LATE',
      'The animals are sent, or the transfer is over: nothing is left to agree to.',
    );
  const sides = awaitedSides(transfer, today).filter((side) => guarded.includes(side));
  if (sides.length === 0)
    return refuse('COUNTERSIGNED_ALREADY', 'A guardian has countersigned this transfer for this side already.');
  return decide(sides);
}
