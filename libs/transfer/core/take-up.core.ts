import { type Decision, decide, refuse } from '../../kernel/index.js';
import { type Transfer } from './transfer.core.js';

/** A transfer to an outside party that can still be taken up becomes one to the keeper. The giver cannot take up its own. */
export function takeUpTransfer(transfer: Transfer, keeperId: string, now: Date): Decision<Transfer> {
  if (keeperId === transfer.fromKeeperId) {
    return refuse(
      'TRANSFER_TO_SELF',
      'You gave these animals away yourself. The claim code is for the keeper who got them.',
    );
  }
  return decide({ ...transfer, receiver: { kind: 'keeper', keeperId }, takenUpAt: now });
}
