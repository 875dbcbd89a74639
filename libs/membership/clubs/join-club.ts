import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import {
  actsFor,
  decide,
  forbidden,
  holdsOffice,
  notFound,
  owns,
  refuse,
  roleFor,
  type Viewer,
} from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { mayTakePart } from '../core/minor.core.js';
import { standingOfOne } from '../store/member.store.js';
import { NoticeStore } from '../notices/notice.store.js';
import { OfficeStore } from './office.store.js';
import { appoint } from './appoint-coordinator.js';

const text = z.string().trim().max(1_000, 'The text is too long. | Use at most 1,000 characters.');
const slug = z
  .string()
  .regex(/^[a-z0-9](?:[a-z0-9-]{1,38})[a-z0-9]$/, 'This is no short name. | Use 3 to 40 of a-z, 0-9 and hyphens.');

export const foundClubCommand = z.object({
  keeperId: idInput,
  slug,
  name: text.min(1, 'The club needs a name. | Write it.'),
});
export const applyToClubCommand = z.object({
  keeperId: idInput,
  slug,
  message: text.nullish().transform((value) => value ?? null),
});
export const answerApplicationCommand = z.object({
  applicationId: idInput,
  admit: z.boolean(),
  reason: text.nullish().transform((value) => value ?? null),
});

const ids = { clubId: z.uuid(), keeperId: z.uuid() };
const clubFounded = defineLedgerAction('club.founded', 1, z.strictObject(ids));
const applied = defineLedgerAction('club.applied', 1, z.strictObject({ ...ids, applicationId: z.uuid() }));
const answered = defineLedgerAction(
  'club.application-answered',
  1,
  z.strictObject({ ...ids, applicationId: z.uuid(), admitted: z.boolean() }),
);

/** How a keeper comes into a club: it founds one, or asks and a registrar admits it. */
@Injectable()
export class JoinClub {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly offices: OfficeStore,
    private readonly notices: NoticeStore,
  ) {}

  /** The keeper is the first member, the account the registrar. NOT_FOUND, FORBIDDEN for a helper, CLUB_NAME_TAKEN, MINOR_FOUNDS_NO_CLUB. */
  async found(viewer: Viewer, command: z.infer<typeof foundClubCommand>): Promise<{ clubId: string }> {
    const { keeperId } = command;
    requireOwner(viewer, keeperId);
    const request = { action: 'club.found', input: command, outcome: z.object({ clubId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const clubId = uuid();
      if ((await standingOfOne(tx, keeperId)).minor)
        return refuse('MINOR_FOUNDS_NO_CLUB', 'The keeper of a minor joins clubs, and founds none.');
      await tx.db.club.create({ data: { id: clubId, slug: command.slug, name: command.name, createdAt: tx.now } });
      await admit(tx, clubId, keeperId);
      await tx.ledger.append(clubFounded, { subjects: [clubId, keeperId], body: { clubId, keeperId } });
      const term = { region: null, taxonId: null, validFrom: tx.today, validTo: null };
      await appoint(tx, this.offices, { clubId, accountId: viewer.accountId, ...term });
      return decide({ clubId });
    });
  }

  /** NOT_FOUND for the keeper and for a club nobody has; FORBIDDEN for a helper; CLUB_INVITES_ONLY, IN_CLUB_ALREADY, APPLICATION_OPEN, GUARDIAN_AWAITED, GUARDIAN_SPEAKS. Registrars get a notice. */
  async apply(viewer: Viewer, command: z.infer<typeof applyToClubCommand>): Promise<{ applicationId: string }> {
    const { keeperId, message } = command;
    requireOwner(viewer, keeperId);
    const request = { action: 'club.apply', input: command, outcome: z.object({ applicationId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const possible = mayTakePart('club', await standingOfOne(tx, keeperId), roleFor(viewer, keeperId));
      if (!possible.ok) return possible;
      const club = await tx.db.club.findUnique({
        where: { slug: command.slug },
        select: { id: true, admission: true },
      });
      if (club === null) throw notFound('club', 'short name');
      if (club.admission === 'invitation')
        return refuse('CLUB_INVITES_ONLY', 'This club asks its members itself, and takes no applications.');
      const clubId = club.id;
      if ((await tx.db.clubMember.count({ where: { clubId, keeperId, leftOn: null } })) > 0)
        return refuse('IN_CLUB_ALREADY', 'This keeper is a member of the club.');
      const applicationId = uuid();
      // One that waits already is refused by the constraint, also when two come at once.
      await tx.db.clubApplication.create({
        data: { id: applicationId, clubId, keeperId, message, appliedBy: viewer.accountId, appliedAt: tx.now },
      });
      await tx.ledger.append(applied, {
        subjects: [clubId, keeperId, applicationId],
        body: { clubId, keeperId, applicationId },
        ...(message === null ? {} : { personal: { message } }),
      });
      const told = (await this.offices.findRegistrarKeepers(tx, clubId)).map((registrar) => ({
        keeperId: registrar,
        kind: 'club_application_made',
        body: { clubId, applicationId },
        dueOn: null,
        dedupeKey: `club-application-made:${applicationId}:${registrar}`,
      }));
      await this.notices.writeMany(tx, told);
      return decide({ applicationId });
    });
  }

  /** NOT_FOUND for everybody but a registrar of the club, FORBIDDEN for whoever applied. RULE_REFUSED APPLICATION_OVER. The keeper gets a notice. */
  async answer(viewer: Viewer, command: z.infer<typeof answerApplicationCommand>): Promise<{ applicationId: string }> {
    const { applicationId, reason } = command;
    const request = { action: 'club.answer', input: command, outcome: z.object({ applicationId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const known = await tx.db.clubApplication.findUnique({ where: { id: applicationId } });
      if (known === null) throw notFound('application');
      const { clubId, keeperId } = known;
      // Whoever made it knows of it; others of the club do not.
      const notYours = actsFor(viewer, keeperId)
        ? forbidden('Only a registrar of the club answers an application.')
        : notFound('application');
      if (!holdsOffice(viewer, { clubId, region: null, taxonId: null })) throw notYours;
      await this.offices.lockClub(tx, clubId);
      if (!(await this.offices.findRegistrars(tx, clubId, viewer.accountId)).isOne) throw notYours;
      const { count } = await tx.db.clubApplication.updateMany({
        where: { id: applicationId, state: 'open' },
        data: {
          state: command.admit ? 'admitted' : 'declined',
          answeredBy: viewer.accountId,
          answeredAt: tx.now,
          reason,
        },
      });
      if (count === 0) return refuse('APPLICATION_OVER', 'This application was answered.');
      if (command.admit) await admit(tx, clubId, keeperId);
      await tx.ledger.append(answered, {
        subjects: [clubId, keeperId, applicationId],
        body: { clubId, keeperId, applicationId, admitted: command.admit },
        ...(reason === null ? {} : { personal: { reason } }),
      });
      await this.notices.write(tx, {
        keeperId,
        kind: 'club_application_answered',
        body: { clubId, applicationId, admitted: command.admit, reason },
        dueOn: null,
        dedupeKey: `club-application:${applicationId}`,
      });
      return decide({ applicationId });
    });
  }
}

/** The keeper is a member from today; one that comes back has a new period. The constraint refuses one that is a member. */
export async function admit(tx: Tx, clubId: string, keeperId: string): Promise<void> {
  await tx.db.clubMember.create({ data: { clubId, keeperId, joinedOn: new Date(`${tx.today}T00:00:00Z`) } });
}

function requireOwner(viewer: Viewer, keeperId: string): void {
  if (!actsFor(viewer, keeperId)) throw notFound('keeper');
  if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper decides in which clubs it is.');
}
