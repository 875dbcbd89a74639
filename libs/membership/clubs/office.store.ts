import { Injectable } from '@nestjs/common';
import { type Day, dayOf, type Office } from '../../kernel/index.js';
import { Database, type Tx } from '../../platform/prisma/index.js';

/** An office with its term, as it is written. `validTo` is the first day on which it is no longer held. */
export type OfficeTerm = Office & {
  readonly id: string;
  readonly accountId: string;
  readonly validFrom: Day;
  readonly validTo: Day | null;
};

/** An office as it is shown. `holder` are the keepers of the club that its account acts for. */
export type ShownOffice = OfficeTerm & {
  readonly club: { readonly id: string; readonly slug: string; readonly name: string };
  readonly taxon: string | null;
  readonly holder: string | null;
};

/** The last office of a page. */
export type OfficeKey = { readonly validFrom: Day; readonly id: string };

const SHOWN = {
  club: { select: { id: true, slug: true, name: true } },
  taxon: { select: { scientificName: true } },
} as const;

/** Offices of clubs: who coordinates which region and taxon, for how long. */
@Injectable()
export class OfficeStore {
  constructor(private readonly database: Database) {}

  /** The offices an account holds on a day, in the order of appointment. */
  async findHeld(accountId: string, on: Day): Promise<ShownOffice[]> {
    return this.find({ accountId, ...inForceOn(on) }, null, MAX_HELD);
  }

  /** Offices of a club that are held on the day or begin later, at most `limit`, after the one given. */
  async listOf(clubId: string, on: Day, after: OfficeKey | null, limit: number): Promise<ShownOffice[]> {
    return this.find({ clubId, OR: [{ validTo: null }, { validTo: { gt: dateOf(on) } }] }, after, limit);
  }

  /** Locks a club against other changes of its offices until the transaction ends. */
  async lockClub(tx: Tx, clubId: string): Promise<void> {
    await tx.db.$queryRaw`SELECT id FROM club WHERE id = ${clubId}::uuid FOR NO KEY UPDATE`;
  }

  /** How many registrars of the club hold office on the day, and whether the account is one. Call `lockClub` first. */
  async findRegistrars(tx: Tx, clubId: string, accountId: string | null): Promise<{ isOne: boolean; others: number }> {
    const rows = await tx.db.office.findMany({
      where: { clubId, region: null, taxonId: null, ...inForceOn(tx.today) },
      select: { accountId: true },
    });
    const all = new Set(rows.map((row) => row.accountId));
    const isOne = accountId !== null && all.has(accountId);
    return { isOne, others: all.size - (isOne ? 1 : 0) };
  }

  /** The account with this e-mail address (lower case) that acts for a member of the club today, or null. */
  async findMemberAccount(tx: Tx, clubId: string, email: string): Promise<string | null> {
    const account = await tx.db.account.findFirst({
      where: {
        email,
        members: {
          some: { endedAt: null, role: { not: 'guardian' }, keeper: { clubs: { some: { clubId, leftOn: null } } } },
        },
      },
      select: { id: true },
    });
    return account?.id ?? null;
  }

  /** A keeper of the club that the account acts for, the same each time: its notices reach the account. */
  async findMemberKeeper(tx: Tx, clubId: string, accountId: string): Promise<string | null> {
    const member = await tx.db.keeperMember.findFirst({
      where: {
        accountId,
        endedAt: null,
        role: { not: 'guardian' },
        keeper: { clubs: { some: { clubId, leftOn: null } } },
      },
      select: { keeperId: true },
      orderBy: { keeperId: 'asc' },
    });
    return member?.keeperId ?? null;
  }

  /** One keeper of the club for each registrar of today, by which its notices reach the account. */
  async findRegistrarKeepers(tx: Tx, clubId: string): Promise<string[]> {
    const registrars = await tx.db.office.findMany({
      where: { clubId, region: null, taxonId: null, ...inForceOn(tx.today) },
      select: { accountId: true },
    });
    const keepers = new Set<string>();
    for (const accountId of new Set(registrars.map((row) => row.accountId))) {
      const keeperId = await this.findMemberKeeper(tx, clubId, accountId);
      if (keeperId !== null) keepers.add(keeperId);
    }
    return [...keepers];
  }

  async taxonExists(tx: Tx, taxonId: string): Promise<boolean> {
    return (await tx.db.taxon.count({ where: { id: taxonId } })) > 0;
  }

  /** Whether the account has the same office on any day of the term. */
  async isHeldWithin(tx: Tx, office: Omit<OfficeTerm, 'id'>): Promise<boolean> {
    const { accountId, clubId, region, taxonId, validFrom, validTo } = office;
    const count = await tx.db.office.count({
      where: {
        accountId,
        clubId,
        region,
        taxonId,
        OR: [{ validTo: null }, { validTo: { gt: dateOf(validFrom) } }],
        ...(validTo === null ? {} : { validFrom: { lt: dateOf(validTo) } }),
      },
    });
    return count > 0;
  }

  /** Writes an office. The ledger entry is the caller's. */
  async insert(tx: Tx, office: OfficeTerm): Promise<void> {
    const { validFrom, validTo, ...rest } = office;
    await tx.db.office.create({
      data: { ...rest, validFrom: dateOf(validFrom), validTo: validTo === null ? null : dateOf(validTo) },
    });
  }

  async findOne(tx: Tx, id: string): Promise<OfficeTerm | null> {
    const row = await tx.db.office.findUnique({ where: { id } });
    return row === null ? null : toTerm(row);
  }

  async setEnd(tx: Tx, id: string, validTo: Day): Promise<void> {
    await tx.db.office.update({ where: { id }, data: { validTo: dateOf(validTo) } });
  }

  /** An office as it is shown, also when it is over. */
  async get(id: string): Promise<ShownOffice> {
    const [office] = await this.find({ id }, null, 1);
    if (office === undefined) throw new Error('An office that was just written is missing.');
    return office;
  }

  private async find(where: object, after: OfficeKey | null, limit: number): Promise<ShownOffice[]> {
    const rows = await this.database.client.office.findMany({
      where: { AND: [where, after === null ? {} : startingAfter(after)] },
      include: { ...SHOWN, account: { include: { members: { where: { endedAt: null }, include: MEMBER } } } },
      orderBy: [{ validFrom: 'asc' }, { id: 'asc' }],
      take: limit,
    });
    return rows.map(({ club, taxon, account, ...row }) => {
      const names = account.members
        .filter(({ keeper }) => keeper.clubs.some((membership) => membership.clubId === club.id))
        .map(({ keeper }) => keeper.name);
      return {
        ...toTerm(row),
        club,
        taxon: taxon?.scientificName ?? null,
        holder: names.length === 0 ? null : names.join(', '),
      };
    });
  }
}

/** More offices than one person can fill. */
const MAX_HELD = 100;

const MEMBER = {
  keeper: { select: { name: true, clubs: { where: { leftOn: null }, select: { clubId: true } } } },
} as const;

const dateOf = (value: Day): Date => new Date(`${value}T00:00:00Z`);

function inForceOn(on: Day) {
  return { validFrom: { lte: dateOf(on) }, OR: [{ validTo: null }, { validTo: { gt: dateOf(on) } }] };
}

function startingAfter({ validFrom, id }: OfficeKey) {
  return { OR: [{ validFrom: { gt: dateOf(validFrom) } }, { validFrom: dateOf(validFrom), id: { gt: id } }] };
}

function toTerm(row: {
  id: string;
  clubId: string;
  accountId: string;
  region: string | null;
  taxonId: string | null;
  validFrom: Date;
  validTo: Date | null;
}): OfficeTerm {
  const { id, clubId, accountId, region, taxonId, validFrom, validTo } = row;
  return {
    id,
    clubId,
    accountId,
    region,
    taxonId,
    validFrom: dayOf(validFrom),
    validTo: validTo === null ? null : dayOf(validTo),
  };
}
