import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { actsFor, decide, forbidden, notFound, owns, refuse, type Viewer } from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type RateLimit, RateLimits } from '../../platform/rate-limit/index.js';
import { emailAddress } from '../session/password.schema.js';
import { mailInvitation, useInvitation, withdraw } from '../store/invitation.store.js';
import { lockKeepers, MAX_MEMBERS, rolesOf, setMember } from '../store/member.store.js';

/** Invitations mailed for one account. */
export const INVITATIONS: RateLimit = { name: 'invitations', times: 20, seconds: 3_600 };
/** Codes tried by one account. */
export const CODE_TRIES: RateLimit = { name: 'invitation-codes', times: 20, seconds: 3_600 };

const role = z.enum(['owner', 'helper']);
export const inviteToKeeperCommand = z.object({ keeperId: idInput, email: emailAddress, role });
export type InviteToKeeperCommand = z.infer<typeof inviteToKeeperCommand>;

const invited = defineLedgerAction(
  'keeper.member-invited',
  1,
  z.strictObject({ keeperId: z.uuid(), invitationId: z.uuid(), role }),
);
const joined = defineLedgerAction(
  'keeper.member-joined',
  1,
  z.strictObject({ keeperId: z.uuid(), accountId: z.uuid(), invitationId: z.uuid(), role }),
);
const withdrawn = defineLedgerAction(
  'keeper.invitation-withdrawn',
  1,
  z.strictObject({ keeperId: z.uuid(), invitationId: z.uuid() }),
);

/** Owners ask people to act for a keeper; whoever reads the mailbox accepts. */
@Injectable()
export class InviteToKeeper {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly limits: RateLimits,
  ) {}

  /**
   * Mails the code; nothing tells whether an account has the address. NOT_FOUND, FORBIDDEN for a helper, RATE_LIMITED,
   * RULE_REFUSED MEMBERS_FULL.
   */
  async invite(viewer: Viewer, command: InviteToKeeperCommand): Promise<{ keeperId: string }> {
    const { keeperId } = command;
    requireOwner(viewer, keeperId);
    await this.limits.take(INVITATIONS, viewer.accountId);
    const request = { action: 'membership.invite', input: command, outcome: z.object({ keeperId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await lockKeepers(tx, [keeperId]);
      const roles = await rolesOf(tx, keeperId);
      if (roles.get(viewer.accountId) !== 'owner') throw notFound('keeper');
      const waiting = await tx.db.invitation.count({
        where: { keeperId, acceptedAt: null, withdrawnAt: null, expiresAt: { gt: tx.now } },
      });
      if (roles.size + waiting >= MAX_MEMBERS)
        return refuse('MEMBERS_FULL', `At most ${MAX_MEMBERS} people act for one keeper. End another first.`);
      const aim = { keeperId, role: command.role };
      const invitationId = await mailInvitation(tx, aim, command.email, viewer.accountId);
      await tx.ledger.append(invited, {
        subjects: [keeperId, invitationId],
        body: { keeperId, invitationId, role: command.role },
        personal: { email: command.email },
      });
      return decide({ keeperId });
    });
  }

  /** Takes the code from the mail. RULE_REFUSED CODE_NOT_GOOD, ALREADY_MEMBER; RATE_LIMITED. */
  async accept(viewer: Viewer, code: string): Promise<{ keeperId: string }> {
    await this.limits.take(CODE_TRIES, viewer.accountId);
    const request = { action: 'membership.accept', input: { code }, outcome: z.object({ keeperId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const invitation = await useInvitation(tx, code);
      if (invitation === null)
        return refuse('CODE_NOT_GOOD', 'This code is not good, or not any more. Ask for a new invitation.');
      const { keeperId, role: given } = invitation.aim;
      await lockKeepers(tx, [keeperId]);
      if ((await rolesOf(tx, keeperId)).has(viewer.accountId))
        return refuse('ALREADY_MEMBER', 'You act for this keeper already.');
      await setMember(tx, keeperId, viewer.accountId, given);
      await tx.ledger.append(joined, {
        subjects: [keeperId, viewer.accountId, invitation.id],
        body: { keeperId, accountId: viewer.accountId, invitationId: invitation.id, role: given },
      });
      return decide({ keeperId });
    });
  }

  /** Its code is no longer good. NOT_FOUND where none waits. */
  async withdraw(viewer: Viewer, command: { keeperId: string; invitationId: string }): Promise<{ keeperId: string }> {
    const { keeperId, invitationId } = command;
    requireOwner(viewer, keeperId);
    const request = { action: 'membership.withdraw', input: command, outcome: z.object({ keeperId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await lockKeepers(tx, [keeperId]);
      if ((await rolesOf(tx, keeperId)).get(viewer.accountId) !== 'owner') throw notFound('keeper');
      if ((await withdraw(tx, { id: invitationId, keeperId })) === 0) throw notFound('invitation');
      await tx.ledger.append(withdrawn, {
        subjects: [keeperId, invitationId],
        body: { keeperId, invitationId },
      });
      return decide({ keeperId });
    });
  }
}

function requireOwner(viewer: Viewer, keeperId: string): void {
  if (!actsFor(viewer, keeperId)) throw notFound('keeper');
  if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper changes who acts for it.');
}
