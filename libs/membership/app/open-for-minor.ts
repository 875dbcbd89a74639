import { type Day, invalidInput } from '../../kernel/index.js';
import { dayInput } from '../../platform/input/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { minorUntilPossible } from '../core/minor.core.js';
import { emailAddress } from '../session/password.schema.js';
import { mailInvitation } from '../store/invitation.store.js';
import { memberInvited } from './invite-to-keeper.js';

/** What is said of a keeper that is opened for a minor: until which day, and who is to be its guardian. */
export const minorFields = {
  minorUntil: dayInput.nullish().transform((value) => value ?? null),
  guardianEmail: emailAddress.nullish().transform((value) => value ?? null),
};

type Minority = { readonly minorUntil: Day | null; readonly guardianEmail: string | null };

/** Throws INVALID_INPUT unless both are given or neither, the day is possible, and the guardian is somebody else. */
export function requireMinority({ minorUntil, guardianEmail }: Minority, ownEmail: string, today: Day): void {
  const problem = (path: string, message: string, remedy: string) =>
    invalidInput([{ path: `input.${path}`, message, remedy }]);
  if (minorUntil === null) {
    if (guardianEmail === null) return;
    throw problem('minorUntil', 'Only the keeper of a minor has a guardian.', 'Say until which day it is a minor’s.');
  }
  if (!minorUntilPossible(minorUntil, today))
    throw problem(
      'minorUntil',
      'This is not a day on which a minor comes of age.',
      'Write the day to come, within 21 years.',
    );
  if (guardianEmail === null)
    throw problem('guardianEmail', 'The keeper of a minor needs a guardian.', 'Give the address of the guardian.');
  if (guardianEmail === ownEmail)
    throw problem('guardianEmail', 'A guardian is somebody else.', 'Give the address of the guardian, not your own.');
}

/** Mails the guardian of a new keeper an invitation, where it is a minor's. */
export async function inviteFirstGuardian(
  tx: Tx,
  { guardianEmail }: Minority,
  keeperId: string,
  invitedBy: string,
): Promise<void> {
  if (guardianEmail === null) return;
  const invitationId = await mailInvitation(tx, { keeperId, role: 'guardian' }, guardianEmail, invitedBy);
  await tx.ledger.append(memberInvited, {
    subjects: [keeperId, invitationId],
    body: { keeperId, invitationId, role: 'guardian' },
    personal: { email: guardianEmail },
  });
}
