import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { actsFor, decide, forbidden, holdsOffice, notFound, owns, type Viewer } from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { seesClub } from '../core/club-standing.core.js';
import { NoticeStore } from '../notices/notice.store.js';
import { OfficeStore } from './office.store.js';
import { endOfficesOutsideClubs } from './end-offices-outside-clubs.js';

export const leaveClubCommand = z.object({ clubId: idInput, keeperId: idInput });

const left = defineLedgerAction(
  'club.left',
  1,
  z.strictObject({ clubId: z.uuid(), keeperId: z.uuid(), by: z.enum(['keeper', 'registrar']) }),
);

/**
 * A keeper leaves a club, or a registrar ends its membership. Lineage, numbers and custody stay as they are; only what the club
 * was shown through this membership is shown no longer, and offices held through it end.
 */
@Injectable()
export class LeaveClub {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly offices: OfficeStore,
    private readonly notices: NoticeStore,
  ) {}

  /**
   * NOT_FOUND for a keeper the viewer neither acts for nor is registrar over, and for one that is no member; FORBIDDEN for a
   * helper, and for others of the club. RULE_REFUSED LAST_REGISTRAR.
   */
  async execute(viewer: Viewer, command: z.infer<typeof leaveClubCommand>): Promise<{ clubId: string }> {
    const { clubId, keeperId } = command;
    const own = actsFor(viewer, keeperId);
    // The same whether the other keeper is a member or not: who is one is the registrar's to know.
    const notYours = seesClub(viewer, clubId)
      ? forbidden('Only a registrar of the club ends the membership of another keeper.')
      : notFound('membership');
    if (!own && !holdsOffice(viewer, { clubId, region: null, taxonId: null })) throw notYours;
    if (own && !owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper decides in which clubs it is.');
    const request = { action: 'club.leave', input: command, outcome: z.object({ clubId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await this.offices.lockClub(tx, clubId);
      if (!own && !(await this.offices.findRegistrars(tx, clubId, viewer.accountId)).isOne) throw notYours;
      const { count } = await tx.db.clubMember.updateMany({
        where: { clubId, keeperId, leftOn: null },
        data: { leftOn: new Date(`${tx.today}T00:00:00Z`) },
      });
      if (count === 0) throw notFound('membership');
      const people = await tx.db.keeperMember.findMany({ where: { keeperId, endedAt: null } });
      const offices = await endOfficesOutsideClubs(
        tx,
        people.map(({ accountId }) => accountId),
        clubId,
      );
      if (!offices.ok) return offices;
      const by = own ? ('keeper' as const) : ('registrar' as const);
      await tx.ledger.append(left, { subjects: [clubId, keeperId], body: { clubId, keeperId, by } });
      if (!own)
        await this.notices.write(tx, {
          keeperId,
          kind: 'club_membership_ended',
          body: { clubId },
          dueOn: null,
          dedupeKey: `club-left:${clubId}:${keeperId}:${tx.now.toISOString()}`,
        });
      return decide({ clubId });
    });
  }
}
