import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { actsFor, decide, forbidden, notFound, owns, refuse, roleFor, type Viewer } from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { RateLimits } from '../../platform/rate-limit/index.js';
import { requireRegistrar, withoutOffice } from '../core/club-standing.core.js';
import { mayTakePart } from '../core/minor.core.js';
import { emailAddress } from '../session/password.schema.js';
import { inviteKeeper, mailClubInvitation, useClubInvitation, withdrawFromClub } from './club-invitation.store.js';
import { requireOtherKeeper } from '../store/keeper-there.store.js';
import { standingOfOne } from '../store/member.store.js';
import { NoticeStore } from '../notices/notice.store.js';
import { OfficeStore } from './office.store.js';
import { CODE_TRIES, INVITATIONS } from '../app/invite-to-keeper.js';
import { admit } from './join-club.js';

export const inviteToClubCommand = z
  .object({ clubId: idInput, keeperId: idInput.nullish(), email: emailAddress.nullish() })
  .refine(({ keeperId, email }) => (typeof keeperId === 'string') !== (typeof email === 'string'), {
    path: ['keeperId'],
    message: 'An invitation goes to one keeper. | Give either its id or an e-mail address.',
  });
export const acceptClubInvitationCommand = z
  .object({ keeperId: idInput, code: z.string().trim().max(100).nullish(), invitationId: idInput.nullish() })
  .refine(({ code, invitationId }) => (typeof code === 'string') !== (typeof invitationId === 'string'), {
    path: ['code'],
    message: 'One invitation is accepted at a time. | Give either the code from the mail or the id from the notice.',
  });
export const withdrawClubInvitationCommand = z.object({ clubId: idInput, invitationId: idInput });

const ids = { clubId: z.uuid(), invitationId: z.uuid() };
const invited = defineLedgerAction('club.invited', 1, z.strictObject({ ...ids, keeperId: z.uuid().nullable() }));
const accepted = defineLedgerAction('club.invitation-accepted', 1, z.strictObject({ ...ids, keeperId: z.uuid() }));
const withdrawn = defineLedgerAction('club.invitation-withdrawn', 1, z.strictObject(ids));

/** Registrars ask keepers into the club. Whoever accepts is a member from that day: nobody answers again. */
@Injectable()
export class InviteToClub {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly offices: OfficeStore,
    private readonly notices: NoticeStore,
    private readonly limits: RateLimits,
  ) {}

  /** FORBIDDEN for others of the club, else NOT_FOUND, also for a keeper that does not exist; IN_CLUB_ALREADY, RATE_LIMITED. The keeper gets a notice, an address a mail. */
  async invite(
    viewer: Viewer,
    command: z.infer<typeof inviteToClubCommand>,
  ): Promise<{ clubId: string; invitationId: string }> {
    const { clubId, keeperId, email } = command;
    requireRegistrar(viewer, clubId);
    await this.limits.take(INVITATIONS, viewer.accountId);
    const request = { action: 'club.invite', input: command, outcome: z.object(ids) };
    return this.uow.write(viewer, request, async (tx) => {
      await this.stillRegistrar(tx, viewer, clubId);
      let invitationId: string;
      if (typeof keeperId === 'string') {
        await requireOtherKeeper(tx, keeperId);
        if ((await tx.db.clubMember.count({ where: { clubId, keeperId, leftOn: null } })) > 0)
          return refuse('IN_CLUB_ALREADY', 'This keeper is a member of the club.');
        invitationId = await inviteKeeper(tx, { clubId, keeperId }, viewer.accountId);
        await this.notices.write(tx, {
          keeperId,
          kind: 'club_invited',
          // The keeper is not in the club, and cannot look its name up.
          body: { clubId, clubName: await clubName(tx, clubId), invitationId },
          dueOn: null,
          dedupeKey: `club-invited:${invitationId}`,
        });
      } else invitationId = await mailClubInvitation(tx, { clubId, email: email ?? '' }, viewer.accountId);
      await tx.ledger.append(invited, {
        subjects: [clubId, invitationId, ...(typeof keeperId === 'string' ? [keeperId] : [])],
        body: { clubId, invitationId, keeperId: keeperId ?? null },
        ...(typeof email === 'string' ? { personal: { email } } : {}),
      });
      return decide({ clubId, invitationId });
    });
  }

  /**
   * The keeper is a member from today, and an application of it that waits is admitted with that. NOT_FOUND for the keeper; FORBIDDEN
   * for a helper; RULE_REFUSED CODE_NOT_GOOD, IN_CLUB_ALREADY, GUARDIAN_AWAITED, GUARDIAN_SPEAKS; RATE_LIMITED.
   */
  async accept(viewer: Viewer, command: z.infer<typeof acceptClubInvitationCommand>): Promise<{ clubId: string }> {
    const { keeperId, code, invitationId } = command;
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper decides in which clubs it is.');
    await this.limits.take(CODE_TRIES, viewer.accountId);
    const by = typeof code === 'string' ? { code } : { invitationId: invitationId ?? '' };
    const request = { action: 'club.accept-invitation', input: command, outcome: z.object({ clubId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const possible = mayTakePart('club', await standingOfOne(tx, keeperId), roleFor(viewer, keeperId));
      if (!possible.ok) return possible;
      const used = await useClubInvitation(tx, by, keeperId);
      if (used === null)
        return refuse('CODE_NOT_GOOD', 'This invitation is not good, or not any more. Ask for a new one.');
      const { clubId } = used;
      await this.offices.lockClub(tx, clubId);
      if ((await tx.db.clubMember.count({ where: { clubId, keeperId, leftOn: null } })) > 0)
        return refuse('IN_CLUB_ALREADY', 'This keeper is a member of the club.');
      await admit(tx, clubId, keeperId);
      await tx.db.clubApplication.updateMany({
        where: { clubId, keeperId, state: 'open' },
        data: { state: 'admitted', answeredBy: viewer.accountId, answeredAt: tx.now },
      });
      await tx.ledger.append(accepted, {
        subjects: [clubId, keeperId, used.id],
        body: { clubId, keeperId, invitationId: used.id },
      });
      return decide({ clubId });
    });
  }

  /** FORBIDDEN for others of the club, else NOT_FOUND, also where none waits. */
  async withdraw(
    viewer: Viewer,
    command: z.infer<typeof withdrawClubInvitationCommand>,
  ): Promise<{ clubId: string; invitationId: string }> {
    const { clubId, invitationId } = command;
    requireRegistrar(viewer, clubId);
    const request = { action: 'club.withdraw-invitation', input: command, outcome: z.object(ids) };
    return this.uow.write(viewer, request, async (tx) => {
      await this.stillRegistrar(tx, viewer, clubId);
      if ((await withdrawFromClub(tx, { clubId, id: invitationId })) === 0) throw notFound('invitation');
      await tx.ledger.append(withdrawn, { subjects: [clubId, invitationId], body: { clubId, invitationId } });
      return decide({ clubId, invitationId });
    });
  }

  /** Asked again under the lock: another registrar may have ended the office a moment ago. */
  private async stillRegistrar(tx: Tx, viewer: Viewer, clubId: string): Promise<void> {
    await this.offices.lockClub(tx, clubId);
    if (!(await this.offices.findRegistrars(tx, clubId, viewer.accountId)).isOne) throw withoutOffice(viewer, clubId);
  }
}

async function clubName(tx: Tx, clubId: string): Promise<string> {
  return (await tx.db.club.findUniqueOrThrow({ where: { id: clubId }, select: { name: true } })).name;
}
