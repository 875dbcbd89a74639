import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { Database } from '../../platform/prisma/index.js';
import { moment } from './uncertain.js';

const day = fromDateColumnOrNull;

/** Reads a keeper's people and clubs, and what an account has of its own. The caller owns the keeper. */
@Injectable()
export class ExportPersonStore {
  constructor(private readonly database: Database) {}

  async findAccount(accountId: string) {
    const row = await this.database.client.account.findUniqueOrThrow({
      where: { id: accountId },
      include: {
        sessions: { orderBy: { id: 'asc' } },
        members: { include: { keeper: { select: { name: true } } }, orderBy: [{ since: 'asc' }, { keeperId: 'asc' }] },
        mailChoices: { orderBy: { group: 'asc' } },
      },
    });
    return {
      email: row.email,
      openedAt: row.createdAt.toISOString(),
      emailConfirmedAt: moment(row.emailConfirmedAt),
      sessions: row.sessions.map((session) => ({
        device: session.device,
        createdAt: session.createdAt.toISOString(),
        renewedAt: session.renewedAt.toISOString(),
        expiresAt: session.expiresAt.toISOString(),
        endedAt: moment(session.endedAt),
        endedBy: session.endedBy,
      })),
      memberships: row.members.map(({ keeper, role, since, endedAt }) => ({
        keeper: keeper.name,
        role,
        since: since.toISOString(),
        endedAt: moment(endedAt),
      })),
      mailChoices: row.mailChoices.map(({ group, pace }) => ({ group, pace })),
    };
  }

  /** The keeper's people, invitations, clubs and named parts. */
  async findKeeper(keeperId: string) {
    const row = await this.database.client.keeper.findUniqueOrThrow({
      where: { id: keeperId },
      include: {
        members: {
          include: { account: { select: { email: true } } },
          orderBy: [{ since: 'asc' }, { accountId: 'asc' }],
        },
        invitations: { orderBy: { id: 'asc' } },
        clubs: {
          include: { club: { select: { slug: true, name: true } } },
          orderBy: [{ joinedOn: 'asc' }, { id: 'asc' }],
        },
        applications: { include: { club: { select: { name: true } } }, orderBy: { id: 'asc' } },
        collections: {
          include: {
            stays: { include: { access: { select: { animalId: true } } }, orderBy: [{ setAt: 'asc' }, { id: 'asc' }] },
          },
          orderBy: { id: 'asc' },
        },
      },
    });
    return {
      minorUntil: day(row.minorUntil),
      accountIds: row.members.map(({ accountId }) => accountId),
      people: row.members.map(({ account, role, since, endedAt }) => ({
        email: endedAt === null ? account.email : null,
        role,
        since: since.toISOString(),
        endedAt: moment(endedAt),
      })),
      invitations: row.invitations.map(({ email, role, ...times }) => ({ email, role, ...invitationTimes(times) })),
      clubs: row.clubs.map(({ club, joinedOn, leftOn }) => ({
        ...club,
        joinedOn: fromDateColumn(joinedOn),
        leftOn: day(leftOn),
      })),
      clubApplications: row.applications.map(({ club, state, message, appliedAt, answeredAt, reason }) => ({
        club: club.name,
        state,
        message,
        appliedAt: appliedAt.toISOString(),
        answeredAt: moment(answeredAt),
        reason,
      })),
      collections: row.collections.map(({ name, openedAt, stays }) => ({
        name,
        openedAt: openedAt.toISOString(),
        stays: stays.map(({ access, setAt, endedAt }) => ({
          animalId: access.animalId,
          setAt: setAt.toISOString(),
          endedAt: moment(endedAt),
        })),
      })),
    };
  }

  /** Invitations of the keeper to a club, and those the account sent. */
  async findClubInvitations(keeperId: string, accountId: string) {
    const rows = await this.database.client.clubInvitation.findMany({
      where: { OR: [{ keeperId }, { invitedBy: accountId }] },
      include: { club: { select: { name: true } } },
      orderBy: { id: 'asc' },
    });
    return rows.map(({ club, email, invitedBy, ...times }) => ({
      club: club.name,
      // Whom somebody else invited in the keeper's name is no matter of this account.
      email: invitedBy === accountId ? email : null,
      own: invitedBy === accountId,
      ...invitationTimes(times),
    }));
  }

  /** What the keeper showed, every setting it ever had. */
  async findSharing(keeperId: string) {
    const rows = await this.database.client.sharingSetting.findMany({
      where: { keeperId },
      include: { collection: { select: { name: true } }, access: { select: { animalId: true } } },
      orderBy: [{ setAt: 'asc' }, { id: 'asc' }],
    });
    return rows.map(({ collection, access, holdings, lineageWithheld, setAt, endedAt }) => ({
      of: collection !== null ? ('collection' as const) : access !== null ? ('animal' as const) : ('keeper' as const),
      collection: collection?.name ?? null,
      animalId: access?.animalId ?? null,
      holdings,
      lineageWithheld,
      setAt: setAt.toISOString(),
      endedAt: moment(endedAt),
    }));
  }

  /** Whom the keeper let read an animal. */
  async findReadingGrants(keeperId: string) {
    const rows = await this.database.client.readingGrant.findMany({
      where: { grantedBy: keeperId },
      include: { access: { select: { animalId: true, keeper: { select: { name: true } } } } },
      orderBy: [{ grantedAt: 'asc' }, { accessId: 'asc' }],
    });
    return rows.map(({ access, grantedAt, until, endedAt }) => ({
      reader: access.keeper.name,
      animalId: access.animalId,
      grantedAt: grantedAt.toISOString(),
      until: fromDateColumn(until),
      endedAt: moment(endedAt),
    }));
  }

  /** What others let the keeper read, oldest first. */
  async findGuestReading(keeperId: string) {
    const rows = await this.database.client.readingGrant.findMany({
      where: { access: { keeperId } },
      include: { access: { select: { animalId: true } } },
      orderBy: [{ grantedAt: 'asc' }, { accessId: 'asc' }],
    });
    return rows.map(({ access, grantedAt, until, endedAt }) => ({
      animalId: access.animalId,
      grantedAt: grantedAt.toISOString(),
      until: fromDateColumn(until),
      endedAt: moment(endedAt),
    }));
  }

  /** The keeper's notices, oldest first, with what the account has read of them. */
  async findNotices(keeperId: string, accountId: string) {
    const rows = await this.database.client.notice.findMany({
      where: { keeperId },
      select: {
        kind: true,
        body: true,
        dueOn: true,
        createdAt: true,
        reads: { where: { accountId }, select: { readAt: true } },
        digestItems: { where: { accountId }, select: { noticeId: true } },
      },
      orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    });
    return rows.map(({ reads, digestItems, ...row }) => ({
      ...row,
      dueOn: day(row.dueOn),
      createdAt: row.createdAt.toISOString(),
      readAt: moment(reads[0]?.readAt ?? null),
      inNextDailyMail: digestItems.length > 0,
    }));
  }

  /** Offices and mails are the account's own, whatever keeper is exported. */
  async findOffices(accountId: string) {
    const rows = await this.database.client.office.findMany({
      where: { accountId },
      include: { club: { select: { name: true } }, taxon: { select: { scientificName: true } } },
      orderBy: { id: 'asc' },
    });
    return rows.map(({ club, region, taxon, validFrom, validTo }) => ({
      club: club.name,
      region,
      scientificName: taxon?.scientificName ?? null,
      from: fromDateColumn(validFrom),
      to: day(validTo),
    }));
  }

  async findMails(accountId: string) {
    const rows = await this.database.client.mailMessage.findMany({
      where: { accountId },
      select: { kind: true, subject: true, text: true, createdAt: true },
      orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    });
    return rows.map(({ kind, subject, text, createdAt }) => ({
      subject,
      // A code proves who reads the mailbox: it is shown nowhere else.
      text: kind === 'account' ? null : text,
      createdAt: createdAt.toISOString(),
    }));
  }
}

function invitationTimes(row: { createdAt: Date; expiresAt: Date; acceptedAt: Date | null; withdrawnAt: Date | null }) {
  return {
    createdAt: row.createdAt.toISOString(),
    expiresAt: row.expiresAt.toISOString(),
    acceptedAt: moment(row.acceptedAt),
    withdrawnAt: moment(row.withdrawnAt),
  };
}
