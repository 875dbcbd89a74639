import { Injectable } from '@nestjs/common';
import { type KeeperRole, type Viewer } from '../kernel/index.js';
import { Database, type Tx } from '../platform/prisma/index.js';
import { type Keeper } from './keeper.js';

/** Accounts, the keepers they act for, and their clubs. */
@Injectable()
export class AccountStore {
  constructor(private readonly database: Database) {}

  /** Account id and password hash behind an e-mail address (lower case), or null. */
  findForSignIn(email: string): Promise<{ id: string; passwordHash: string } | null> {
    return this.database.client.account.findUnique({ where: { email }, select: { id: true, passwordHash: true } });
  }

  async insertAccount(tx: Tx, account: { id: string; email: string; passwordHash: string }): Promise<void> {
    await tx.db.account.create({ data: { ...account, createdAt: tx.now } });
  }

  async insertKeeper(
    tx: Tx,
    keeper: { id: string; name: string; kind: Keeper['kind']; region: string | null },
    ownerAccountId: string,
  ): Promise<void> {
    await tx.db.keeper.create({
      data: {
        ...keeper,
        createdAt: tx.now,
        members: { create: { accountId: ownerAccountId, role: 'owner', since: tx.now } },
      },
    });
  }

  /** What a viewer may act for today, or null when the account is gone. */
  async findViewerFacts(accountId: string): Promise<Pick<Viewer, 'accountId' | 'keepers' | 'clubIds'> | null> {
    // One statement, because every request begins with it.
    const rows = await this.database.client.$queryRaw<
      { keeper_id: string | null; role: KeeperRole; club_id: string | null }[]
    >`
      SELECT m.keeper_id, m.role::text AS role, c.club_id
      FROM account a
      LEFT JOIN keeper_member m ON m.account_id = a.id AND m.ended_at IS NULL
      LEFT JOIN club_member c ON c.keeper_id = m.keeper_id AND c.left_on IS NULL
      WHERE a.id = ${accountId}::uuid
      ORDER BY m.keeper_id, c.club_id`;
    if (rows.length === 0) return null;
    const roles = new Map(rows.flatMap((row) => (row.keeper_id === null ? [] : [[row.keeper_id, row.role] as const])));
    return {
      accountId,
      keepers: [...roles].map(([keeperId, role]) => ({ keeperId, role })),
      clubIds: [...new Set(rows.flatMap((row) => row.club_id ?? []))],
    };
  }

  /** The viewer's own keepers, with the clubs they are in today. */
  async findOwnKeepers(viewer: Viewer): Promise<Keeper[]> {
    const keepers = await this.database.client.keeper.findMany({
      where: { id: { in: viewer.keepers.map(({ keeperId }) => keeperId) } },
      include: { clubs: { where: { leftOn: null }, include: { club: true }, orderBy: { joinedOn: 'asc' } } },
      orderBy: { id: 'asc' },
    });
    return keepers.map(({ id, name, kind, region, holdingsShown, lineageShared, clubs }) => ({
      id,
      name,
      kind,
      region,
      holdingsShown,
      lineageShared,
      clubs: clubs.map(({ club }) => ({ id: club.id, slug: club.slug, name: club.name })),
    }));
  }

  /** The own e-mail address. */
  async getEmail(viewer: Viewer): Promise<string> {
    const account = await this.database.client.account.findUniqueOrThrow({
      where: { id: viewer.accountId },
      select: { email: true },
    });
    return account.email;
  }
}
