import { Injectable } from '@nestjs/common';
import { type Day, dayOf, type KeeperRole, type Office, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { type Keeper } from '../core/keeper.core.js';

type ViewerFacts = Pick<Viewer, 'accountId' | 'keepers' | 'clubIds' | 'offices'>;

type ViewerRow = {
  keeper_id: string | null;
  role: KeeperRole;
  minor: boolean;
  club_id: string | null;
  offices: Office[];
};

/** Accounts, the keepers they act for, and their clubs. */
@Injectable()
export class AccountStore {
  constructor(
    private readonly database: Database,
    private readonly clock: Clock,
  ) {}

  /** Account id and password hash behind an e-mail address (lower case), or null. */
  findForSignIn(email: string): Promise<{ id: string; passwordHash: string } | null> {
    return this.database.client.account.findUnique({ where: { email }, select: { id: true, passwordHash: true } });
  }

  async insertAccount(tx: Tx, account: { id: string; email: string; passwordHash: string }): Promise<void> {
    await tx.db.account.create({ data: { ...account, createdAt: tx.now } });
  }

  async insertKeeper(
    tx: Tx,
    keeper: { id: string; name: string; kind: Keeper['kind']; region: string | null; minorUntil?: Day | null },
    ownerAccountId: string,
  ): Promise<void> {
    const { minorUntil = null, ...rest } = keeper;
    await tx.db.keeper.create({
      data: {
        ...rest,
        minorUntil: minorUntil === null ? null : new Date(`${minorUntil}T00:00:00Z`),
        createdAt: tx.now,
        members: { create: { accountId: ownerAccountId, role: 'owner', since: tx.now } },
      },
    });
  }

  /** What a viewer may act for today, or null when the account is gone or the session is over (null = no session, in a job). */
  async findViewerFacts(accountId: string, sessionId: string | null): Promise<ViewerFacts | null> {
    const today = this.clock.today();
    // One statement, because every request begins with it.
    const rows = await this.database.client.$queryRaw<ViewerRow[]>`
      SELECT m.keeper_id, m.role::text AS role, m.minor, c.club_id, o.offices
      FROM account a
      LEFT JOIN (
        SELECT m.account_id, m.keeper_id, m.role, coalesce(k.minor_until > ${today}::date, false) AS minor
        FROM keeper_member m JOIN keeper k ON k.id = m.keeper_id WHERE m.ended_at IS NULL
      ) m ON m.account_id = a.id AND (m.role <> 'guardian' OR m.minor)
      LEFT JOIN club_member c ON c.keeper_id = m.keeper_id AND c.left_on IS NULL
      CROSS JOIN LATERAL (
        SELECT coalesce(jsonb_agg(jsonb_build_object('clubId', f.club_id, 'region', f.region, 'taxonId', f.taxon_id) ORDER BY f.id), '[]') AS offices
        FROM office f
        WHERE f.account_id = a.id AND f.valid_from <= ${today}::date AND (f.valid_to IS NULL OR f.valid_to > ${today}::date)) o
      WHERE a.id = ${accountId}::uuid AND (${sessionId}::uuid IS NULL OR EXISTS (
        SELECT 1 FROM session s WHERE s.id = ${sessionId}::uuid AND s.account_id = a.id AND s.ended_at IS NULL))
      ORDER BY m.keeper_id, c.club_id`;
    const [first] = rows;
    if (first === undefined) return null;
    const keepers = new Map(rows.flatMap((row) => (row.keeper_id === null ? [] : [[row.keeper_id, row] as const])));
    return {
      accountId,
      keepers: [...keepers].map(([keeperId, { role, minor }]) => ({ keeperId, role, ...(minor ? { minor } : {}) })),
      clubIds: [...new Set(rows.flatMap((row) => row.club_id ?? []))],
      offices: first.offices,
    };
  }

  /** The viewer's own keepers, with the clubs they are in today. */
  async findOwnKeepers(viewer: Viewer): Promise<Keeper[]> {
    const keepers = await this.database.client.keeper.findMany({
      where: { id: { in: viewer.keepers.map(({ keeperId }) => keeperId) } },
      include: {
        clubs: { where: { leftOn: null }, include: { club: true }, orderBy: { joinedOn: 'asc' } },
        members: { where: { role: 'guardian', endedAt: null }, select: { accountId: true }, take: 1 },
      },
      orderBy: { id: 'asc' },
    });
    return keepers.map(({ id, name, kind, region, holdingsShown, lineageShared, clubs, minorUntil, members }) => ({
      id,
      name,
      kind,
      region,
      holdingsShown,
      lineageShared,
      minorUntil: minorUntil === null ? null : dayOf(minorUntil),
      guardianAwaited: minorUntil !== null && dayOf(minorUntil) > this.clock.today() && members.length === 0,
      clubs: clubs.map(({ club }) => ({ id: club.id, slug: club.slug, name: club.name })),
    }));
  }

  /** The own e-mail address, and since when it is known to be read. */
  async getEmail(viewer: Viewer): Promise<{ email: string; emailConfirmedAt: Date | null }> {
    return this.database.client.account.findUniqueOrThrow({
      where: { id: viewer.accountId },
      select: { email: true, emailConfirmedAt: true },
    });
  }

  /** Who learns what the keeper holds, and whether its animals' lineage is shared in its clubs. The database keeps the history. */
  async setSharing(tx: Tx, keeperId: string, sharing: Pick<Keeper, 'holdingsShown' | 'lineageShared'>): Promise<void> {
    await tx.db.keeper.updateMany({
      where: { id: keeperId, NOT: sharing },
      data: { ...sharing, sharingSetAt: tx.now, sharingSetBy: tx.actorId },
    });
  }
}
