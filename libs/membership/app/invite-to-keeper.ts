import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  actsFor,
  decide,
  type Decision,
  decides,
  forbidden,
  notFound,
  owns,
  refuse,
  type Viewer,
} from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { type RateLimit, RateLimits } from '../../platform/rate-limit/index.js';
import { mayInviteGuardian } from '../core/minor.core.js';
import { emailAddress } from '../session/password.schema.js';
import { mailInvitation, useInvitation, withdraw } from '../store/invitation.store.js';
import { lockKeepers, MAX_MEMBERS, rolesOf, setMember, standingOfOne } from '../store/member.store.js';

/** Invitations mailed for one account. */
export const INVITATIONS: RateLimit = { name: 'invitations', times: 20, seconds: 3_600 };
/** Codes tried by one account. */
export const CODE_TRIES: RateLimit = { name: 'invitation-codes', times: 20, seconds: 3_600 };

const role = z.enum(['owner', 'helper', 'guardian']);
export const inviteToKeeperCommand = z.object({ keeperId: idInput, email: emailAddress, role });
export type InviteToKeeperCommand = z.infer<typeof inviteToKeeperCommand>;

/** Somebody was asked to act for a keeper. For every act that asks. */
export const memberInvited = defineLedgerAction(
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
   * RULE_REFUSED MEMBERS_FULL; for a guardian NOT_A_MINOR, GUARDIAN_DECIDES.
   */
  async invite(viewer: Viewer, command: InviteToKeeperCommand): Promise<{ keeperId: string }> {
    const { keeperId } = command;
    requireOwner(viewer, keeperId);
    await this.limits.take(INVITATIONS, viewer.accountId);
    const request = { action: 'membership.invite', input: command, outcome: z.object({ keeperId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await lockKeepers(tx, [keeperId]);
      const roles = await rolesOf(tx, keeperId);
      if (!decides(roles.get(viewer.accountId))) throw notFound('keeper');
      if (command.role === 'guardian') {
        const possible = mayInviteGuardian(await standingOfOne(tx, keeperId), roles.get(viewer.accountId));
        if (!possible.ok) return possible;
      }
      const waiting = await tx.db.invitation.count({
        where: { keeperId, acceptedAt: null, withdrawnAt: null, expiresAt: { gt: tx.now } },
      });
      if (roles.size + waiting >= MAX_MEMBERS)
        return refuse('MEMBERS_FULL', `At most ${MAX_MEMBERS} people act for one keeper. End another first.`);
      const aim = { keeperId, role: command.role };
      const invitationId = await mailInvitation(tx, aim, command.email, viewer.accountId);
      await tx.ledger.append(memberInvited, {
        subjects: [keeperId, invitationId],
        body: { keeperId, invitationId, role: command.role },
        personal: { email: command.email },
      });
      return decide({ keeperId });
    });
  }

  /** Takes the code from the mail. RULE_REFUSED CODE_NOT_GOOD, ALREADY_MEMBER, NOT_A_MINOR, GUARDIAN_IS_MINOR; RATE_LIMITED. */
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
      if (given === 'guardian') {
        const possible = await mayBecomeGuardian(tx, keeperId, viewer.accountId);
        if (!possible.ok) return possible;
      }
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
      if (!decides((await rolesOf(tx, keeperId)).get(viewer.accountId))) throw notFound('keeper');
      if ((await withdraw(tx, { id: invitationId, keeperId })) === 0) throw notFound('invitation');
      await tx.ledger.append(withdrawn, {
        subjects: [keeperId, invitationId],
        body: { keeperId, invitationId },
      });
      return decide({ keeperId });
    });
  }
}

/** A minor's keeper, and an account that owns none: whoever opened one for themselves is guardian to nobody. */
async function mayBecomeGuardian(tx: Tx, keeperId: string, accountId: string): Promise<Decision<null>> {
  if (!(await standingOfOne(tx, keeperId)).minor)
    return refuse('NOT_A_MINOR', 'Only the keeper of a minor has guardians.');
  const own = await tx.db.keeperMember.count({
    where: {
      accountId,
      role: 'owner',
      endedAt: null,
      keeper: { minorUntil: { gt: new Date(`${tx.today}T00:00:00Z`) } },
    },
  });
  if (own > 0)
    return refuse('GUARDIAN_IS_MINOR', 'This account owns the keeper of a minor, so it is guardian to nobody.');
  return decide(null);
}

function requireOwner(viewer: Viewer, keeperId: string): void {
  if (!actsFor(viewer, keeperId)) throw notFound('keeper');
  if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper changes who acts for it.');
}
