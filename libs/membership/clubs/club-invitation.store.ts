import { v7 as uuid } from 'uuid';
import { type Tx } from '../../platform/prisma/index.js';
import { hashSecret, newSecret } from '../session/session.store.js';
import { INVITATION_DAYS } from '../store/invitation.store.js';

/** An invitation to a club that waits. */
export type ClubInvitation = { readonly id: string; readonly clubId: string; readonly keeperId: string | null };

/** Invites a keeper that is known by its id; an earlier invitation of it to the club is no longer good. */
export async function inviteKeeper(
  tx: Tx,
  aim: { clubId: string; keeperId: string },
  invitedBy: string,
): Promise<string> {
  await withdrawFromClub(tx, aim);
  const id = uuid();
  await tx.db.clubInvitation.create({ data: { id, ...aim, invitedBy, ...term(tx) } });
  return id;
}

/** Mails a code, as an invitation to act for a keeper is mailed: the mail names nobody, and is the same whether an account has the address. */
export async function mailClubInvitation(
  tx: Tx,
  aim: { clubId: string; email: string },
  invitedBy: string,
): Promise<string> {
  const { secret, hash } = newSecret();
  await withdrawFromClub(tx, aim);
  const id = uuid();
  await tx.db.clubInvitation.create({ data: { id, ...aim, codeHash: hash, invitedBy, ...term(tx) } });
  const account = await tx.db.account.findUnique({ where: { email: aim.email }, select: { id: true } });
  await tx.db.mailMessage.create({
    data: {
      id: uuid(),
      ...(account === null ? { address: aim.email } : { accountId: account.id }),
      kind: 'account',
      subject: 'Kithbook: an invitation to a club',
      text: `A club invites you to join it with a keeper of yours. If you know of it, sign in or open an account and accept with this code:\n\n${secret}\n\nIt is good for ${INVITATION_DAYS} days, once. Otherwise do nothing.\n`,
      dedupeKey: `club-invitation:${id}`,
      createdAt: tx.now,
      dueAt: tx.now,
    },
  });
  return id;
}

/** Uses an invitation up for a keeper, by its code or by its id. Null where none waits that is good for it. One of two at once succeeds. */
export async function useClubInvitation(
  tx: Tx,
  by: { readonly code: string } | { readonly invitationId: string },
  keeperId: string,
): Promise<ClubInvitation | null> {
  const which = 'code' in by ? { codeHash: hashSecret(by.code) } : { id: by.invitationId, keeperId };
  const { count } = await tx.db.clubInvitation.updateMany({
    where: { ...which, acceptedAt: null, withdrawnAt: null, expiresAt: { gt: tx.now } },
    data: { acceptedAt: tx.now, email: null, keeperId },
  });
  if (count === 0) return null;
  return tx.db.clubInvitation.findFirst({ where: which, select: { id: true, clubId: true, keeperId: true } });
}

/** Withdraws invitations to a club that wait. Gives how many. */
export async function withdrawFromClub(
  tx: Tx,
  which: { clubId: string; id?: string; keeperId?: string; email?: string; invitedBy?: string },
): Promise<number> {
  const { count } = await tx.db.clubInvitation.updateMany({
    where: { ...which, acceptedAt: null, withdrawnAt: null },
    data: { withdrawnAt: tx.now, email: null },
  });
  return count;
}

function term(tx: Tx): { createdAt: Date; expiresAt: Date } {
  return { createdAt: tx.now, expiresAt: new Date(tx.now.getTime() + INVITATION_DAYS * 86_400_000) };
}
