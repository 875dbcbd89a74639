import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { actsFor, decide, decides, forbidden, notFound, owns, refuse, type Viewer } from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { changeRole } from '../core/member.core.js';
import { withdraw } from '../store/invitation.store.js';
import { endMember, lockKeepers, rolesOf, setMember } from '../store/member.store.js';
import { endOfficesOutsideClubs } from '../clubs/end-offices-outside-clubs.js';

/** `role` null ends the membership. */
export const changeMemberCommand = z.object({
  keeperId: idInput,
  accountId: idInput,
  role: z.enum(['owner', 'helper'], 'Nobody is made a guardian. | Invite the person as a guardian instead.').nullable(),
});
export type ChangeMemberCommand = z.infer<typeof changeMemberCommand>;

const memberChanged = defineLedgerAction(
  'keeper.member-changed',
  1,
  z.strictObject({ keeperId: z.uuid(), accountId: z.uuid(), role: z.enum(['owner', 'helper']).nullable() }),
);

/** An owner changes what somebody may do for the keeper, or ends it. Anybody may leave; the last owner may not. */
@Injectable()
export class ChangeMembers {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * NOT_FOUND for a keeper the viewer does not act for and for a person who does not, FORBIDDEN for a helper who changes
   * others. RULE_REFUSED LAST_OWNER, LAST_GUARDIAN, GUARDIAN_DECIDES, LAST_REGISTRAR where the person held a club's last office of registrar through this keeper.
   */
  async execute(viewer: Viewer, command: ChangeMemberCommand): Promise<{ keeperId: string }> {
    const { keeperId, accountId, role } = command;
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const leaves = accountId === viewer.accountId && role === null;
    if (!owns(viewer, keeperId) && !leaves) throw forbidden('Only an owner of the keeper changes who acts for it.');
    const request = { action: 'membership.change-member', input: command, outcome: z.object({ keeperId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await lockKeepers(tx, [keeperId]);
      const roles = await rolesOf(tx, keeperId);
      // Asked again under the lock: another owner may have ended this a moment ago.
      if (!roles.has(viewer.accountId)) throw notFound('keeper');
      if (!decides(roles.get(viewer.accountId)) && !leaves)
        throw forbidden('Only an owner of the keeper changes who acts for it.');
      if (!roles.has(accountId)) throw notFound('member');
      const decision = changeRole(roles, accountId, role, roles.get(viewer.accountId));
      if (!decision.ok) return decision;
      if (!decision.value.changed) return refuse('ROLE_ALREADY', 'This person has this role already.');
      if (role === null) {
        await endMember(tx, keeperId, accountId);
        const offices = await endOfficesOutsideClubs(tx, [accountId]);
        if (!offices.ok) return offices;
      } else await setMember(tx, keeperId, accountId, role);
      // What somebody who is no owner any more has sent out invites nobody.
      if (role !== 'owner') await withdraw(tx, { keeperId, invitedBy: accountId });
      await tx.ledger.append(memberChanged, {
        subjects: [keeperId, accountId],
        body: { keeperId, accountId, role },
      });
      return decide({ keeperId });
    });
  }
}
