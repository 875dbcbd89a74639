import { type Decision, decide, refuse } from '../../kernel/index.js';
import { type Transfer } from '../core/transfer.core.js';

/** How long a code works, in milliseconds. */
export const CODE_LIVES_MS = 15 * 60_000;
/** Wrong tries after which a code is closed. */
export const MAX_WRONG_TRIES = 10;

/** A code of a hand-over in person, as decisions know it. */
export type HandOverCode = {
  readonly id: string;
  readonly codeHash: string;
  /** Whether the giver gave a reason for handing over in spite of a quarantine. */
  readonly reasonGiven: boolean;
  readonly expiresAt: Date;
  readonly wrongTries: number;
  readonly closedAt: Date | null;
  readonly usedAt: Date | null;
};

/** Can a hand-over in person be opened? Both are known here, and nothing was sent yet. */
export function decideOpening({ id, state, receiver }: Transfer): Decision<null> {
  if (receiver.kind !== 'keeper') {
    const remedy = 'Accept, send and receive it for them; they take the record up with the claim code.';
    return refuse('HAND_OVER_NO_ACCOUNT', `The receiver has no account to enter a code with. ${remedy}`, {
      blockers: [{ kind: 'transfer', id, remedy }],
    });
  }
  if (state === 'offered' || state === 'accepted') return decide(null);
  const remedy = state === 'sent' ? 'The receiver says how it arrived.' : 'Offer a new transfer.';
  return refuse('HAND_OVER_NOT_OPEN', `This transfer is ${state}: there is nothing to hand over in person. ${remedy}`, {
    blockers: [{ kind: 'transfer', id, remedy }],
  });
}

/**
 * Is this the code of the hand-over, and does it work still? `code` is the last that was opened for the transfer; null = none
 * was. A wrong code is told apart, for it is counted.
 */
export function decideCode(
  code: HandOverCode | null,
  hash: (handOverId: string) => string,
  now: Date,
): Decision<'right' | 'wrong'> {
  const again = 'Ask the giver to open the hand-over again.';
  if (code === null)
    return refuse('HAND_OVER_CODE_NONE', `The giver has not opened a hand-over of this transfer. ${again}`);
  if (code.usedAt !== null) return refuse('HAND_OVER_CODE_USED', 'This code was used: the hand-over is done.');
  if (code.closedAt !== null || code.wrongTries >= MAX_WRONG_TRIES)
    return refuse('HAND_OVER_CODE_CLOSED', `The code was tried too often and is closed. ${again}`);
  if (now >= code.expiresAt) return refuse('HAND_OVER_CODE_EXPIRED', `The code worked for 15 minutes. ${again}`);
  return decide(hash(code.id) === code.codeHash ? 'right' : 'wrong');
}
