import { Injectable } from '@nestjs/common';
import { type Day, type KeeperRole, notFound } from '../../kernel/index.js';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { type Standing } from '../core/minor.core.js';

/** Somebody who acts for a keeper, as its owners see it. */
export type Member = {
  readonly accountId: string;
  readonly email: string;
  readonly role: KeeperRole;
  readonly since: Date;
};

/** An invitation that waits, as owners see it. */
export type WaitingInvitation = {
  readonly id: string;
  readonly email: string;
  readonly role: KeeperRole | null;
  readonly expiresAt: Date;
};

/** More people than act for one keeper. */
export const MAX_MEMBERS = 50;

const OF_KEEPER = { keeper: { select: { name: true } } } as const;

/** Reads who acts for a keeper. */
@Injectable()
export class MemberStore {
  constructor(private readonly database: Database) {}

  async list(keeperId: string, today: Day): Promise<Member[]> {
    const rows = await this.database.client.keeperMember.findMany({
      where: { keeperId, ...actingOn(today) },
      include: { account: { select: { email: true } } },
      orderBy: [{ since: 'asc' }, { accountId: 'asc' }],
      take: MAX_MEMBERS,
    });
    return rows.map(({ accountId, account, role, since }) => ({ accountId, email: account.email, role, since }));
  }

  /** Applications to a club that wait, oldest first, at most `limit`, after the one given. */
  async listApplications(clubId: string, after: { at: Date; id: string } | null, limit: number) {
    const rows = await this.database.client.clubApplication.findMany({
      where: {
        clubId,
        state: 'open',
        ...(after === null
          ? {}
          : { OR: [{ appliedAt: { gt: after.at } }, { appliedAt: after.at, id: { gt: after.id } }] }),
      },
      include: OF_KEEPER,
      orderBy: [{ appliedAt: 'asc' }, { id: 'asc' }],
      take: limit,
    });
    return rows.map(toApplication);
  }

  /** One that the caller has made or answered. */
  async getApplication(id: string) {
    const row = await this.database.client.clubApplication.findUnique({ where: { id }, include: OF_KEEPER });
    if (row === null) throw notFound('application');
    return toApplication(row);
  }

  /** Invitations to a club that wait, oldest first, at most `limit`, after the one given. */
  async listClubInvitations(clubId: string, now: Date, after: string | null, limit: number) {
    return this.database.client.clubInvitation.findMany({
      where: {
        clubId,
        acceptedAt: null,
        withdrawnAt: null,
        expiresAt: { gt: now },
        ...(after === null ? {} : { id: { gt: after } }),
      },
      orderBy: { id: 'asc' },
      take: limit,
      select: { id: true, keeperId: true, email: true, expiresAt: true },
    });
  }

  async listInvitations(of: { keeperId: string }, now: Date): Promise<WaitingInvitation[]> {
    const rows = await this.database.client.invitation.findMany({
      where: { ...of, acceptedAt: null, withdrawnAt: null, expiresAt: { gt: now } },
      orderBy: { id: 'asc' },
      take: MAX_MEMBERS,
    });
    return rows.map(({ id, email, role, expiresAt }) => ({ id, email: email ?? '', role, expiresAt }));
  }
}

type ApplicationRow = {
  id: string;
  keeperId: string;
  keeper: { name: string };
  message: string | null;
  appliedAt: Date;
};

function toApplication({ id, keeperId, keeper, message, appliedAt }: ApplicationRow) {
  return { id, keeperId, keeper: keeper.name, message, appliedAt };
}

/** Locks keepers against other changes of who acts for them, in id order. */
export async function lockKeepers(tx: Tx, keeperIds: readonly string[]): Promise<void> {
  await tx.db.$queryRaw`
    SELECT id FROM keeper WHERE id = ANY(${[...keeperIds]}::uuid[]) ORDER BY id FOR NO KEY UPDATE`;
}

/** Prisma's condition for those who act for a keeper on a day: a guardian does so while the keeper is a minor's. */
export function actingOn(today: Day) {
  const minor = { keeper: { minorUntil: { gt: new Date(`${today}T00:00:00Z`) } } };
  return { endedAt: null, OR: [{ role: { not: 'guardian' as const } }, minor] };
}

/** Who acts for the keeper in which role. Call `lockKeepers` first. */
export async function rolesOf(tx: Tx, keeperId: string): Promise<Map<string, KeeperRole>> {
  const rows = await tx.db.keeperMember.findMany({ where: { keeperId, ...actingOn(tx.today) } });
  return new Map(rows.map(({ accountId, role }) => [accountId, role]));
}

/**
 * What stands behind keepers today. A last guardian cannot go, so whoever has one today keeps one; read without a lock,
 * because a guardian who accepts a moment later is asked for again.
 */
export async function standingOf(tx: Tx, keeperIds: readonly string[]): Promise<Map<string, Standing>> {
  const rows = await tx.db.$queryRaw<({ id: string } & Standing)[]>`
    SELECT k.id, coalesce(k.minor_until > ${tx.today}::date, false) AS minor, EXISTS (
      SELECT FROM keeper_member m WHERE m.keeper_id = k.id AND m.ended_at IS NULL AND m.role = 'guardian') AS guarded
    FROM keeper k WHERE k.id = ANY(${[...keeperIds]}::uuid[])`;
  return new Map(rows.map(({ id, minor, guarded }) => [id, { minor, guarded }]));
}

/** As `standingOf`, for one keeper; one that does not exist is nobody's and stops nothing. */
export async function standingOfOne(tx: Tx, keeperId: string): Promise<Standing> {
  return (await standingOf(tx, [keeperId])).get(keeperId) ?? { minor: false, guarded: false };
}

/** Lets an account act for a keeper, or changes its role. */
export async function setMember(tx: Tx, keeperId: string, accountId: string, role: KeeperRole): Promise<void> {
  const earlier = await tx.db.keeperMember.findUnique({ where: { keeperId_accountId: { keeperId, accountId } } });
  const since = earlier !== null && earlier.endedAt === null ? earlier.since : tx.now;
  await tx.db.keeperMember.upsert({
    where: { keeperId_accountId: { keeperId, accountId } },
    create: { keeperId, accountId, role, since },
    update: { role, since, endedAt: null },
  });
}

/** The account acts for the keeper no longer. */
export async function endMember(tx: Tx, keeperId: string, accountId: string): Promise<void> {
  await tx.db.keeperMember.updateMany({ where: { keeperId, accountId, endedAt: null }, data: { endedAt: tx.now } });
}
