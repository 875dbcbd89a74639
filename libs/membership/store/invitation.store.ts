import { v7 as uuid } from 'uuid';
import { type KeeperRole } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { hashSecret, newSecret } from '../session/session.store.js';

/** Days an invitation is good for. */
export const INVITATION_DAYS = 7;

/** What an invitation leads to: acting for a keeper in a role. */
export type InvitationAim = { readonly keeperId: string; readonly role: KeeperRole };

const AS_GUARDIAN =
  'Somebody names you the guardian of a young keeper: you would read all it has, countersign what it gives and takes, and speak for it.';

/**
 * Mails a code to the address, whether an account has it or not; an earlier one to the same address with the same aim is no
 * longer good. The mail names nobody: a mailbox is not the registry, and the text is never of an inviter's making.
 */
export async function mailInvitation(tx: Tx, aim: InvitationAim, email: string, invitedBy: string): Promise<string> {
  const { secret, hash } = newSecret();
  await withdraw(tx, { keeperId: aim.keeperId, email });
  const id = uuid();
  await tx.db.invitation.create({
    data: {
      id,
      ...aim,
      email,
      codeHash: hash,
      invitedBy,
      createdAt: tx.now,
      expiresAt: new Date(tx.now.getTime() + INVITATION_DAYS * 86_400_000),
    },
  });
  const account = await tx.db.account.findUnique({ where: { email }, select: { id: true } });
  await tx.db.mailMessage.create({
    data: {
      id: uuid(),
      ...(account === null ? { address: email } : { accountId: account.id }),
      kind: 'account',
      subject: 'Kithbook: an invitation',
      text: `${aim.role === 'guardian' ? AS_GUARDIAN : 'Somebody invites you to act for a keeper.'} If you know of it, sign in or open an account and accept with this code:\n\n${secret}\n\nIt is good for ${INVITATION_DAYS} days, once. Otherwise do nothing.\n`,
      dedupeKey: `invitation:${id}`,
      createdAt: tx.now,
      dueAt: tx.now,
    },
  });
  return id;
}

/** Uses an invitation up. Null for a code that is unknown, used, withdrawn or too old. One of two at once succeeds. */
export async function useInvitation(tx: Tx, code: string): Promise<{ id: string; aim: InvitationAim } | null> {
  const codeHash = hashSecret(code);
  const { count } = await tx.db.invitation.updateMany({
    where: { codeHash, acceptedAt: null, withdrawnAt: null, expiresAt: { gt: tx.now } },
    data: { acceptedAt: tx.now, email: null },
  });
  if (count === 0) return null;
  const { id, keeperId, role } = await tx.db.invitation.findUniqueOrThrow({ where: { codeHash } });
  return { id, aim: { keeperId, role } };
}

/** Withdraws invitations that wait. */
export async function withdraw(
  tx: Tx,
  which: { id?: string; keeperId?: string; email?: string; invitedBy?: string },
): Promise<number> {
  const { count } = await tx.db.invitation.updateMany({
    where: { ...which, acceptedAt: null, withdrawnAt: null },
    data: { withdrawnAt: tx.now, email: null },
  });
  return count;
}
