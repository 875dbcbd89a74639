import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { Database } from '../../platform/prisma/index.js';
import { TAKEN_UP_LABEL } from '../../transfer/index.js';

/** Reads the rows of a keeper that no other store reads; each in one statement a table. The caller owns the keeper. */
@Injectable()
export class ExportStore {
  constructor(private readonly database: Database) {}

  /** Ids of the animals the keeper has, owns, had or owned, in the order of registration; offers are not among them. */
  async findAnimalIds(keeperId: string): Promise<string[]> {
    const rows = await this.database.client.animalAccess.findMany({
      where: { keeperId, relation: { in: ['holder', 'owner'] } },
      select: { animalId: true },
      distinct: ['animalId'],
      orderBy: { animalId: 'asc' },
    });
    return rows.map((row) => row.animalId);
  }

  /** Accounts that act or acted for the keeper. */
  async findAccountIds(keeperId: string): Promise<string[]> {
    const rows = await this.database.client.keeperMember.findMany({ where: { keeperId }, select: { accountId: true } });
    return rows.map((row) => row.accountId);
  }

  /** The periods in force in which the keeper owned a share. */
  async findOwnership(keeperId: string) {
    const rows = await this.database.client.ownership.findMany({
      where: { supersededAt: null, shares: { some: { keeperId } } },
      include: { shares: { select: { keeperId: true, parts: true } } },
      orderBy: [{ validFrom: 'asc' }, { id: 'asc' }],
    });
    return rows.map((row) => ({
      animalId: row.animalId,
      from: fromDateColumn(row.validFrom),
      to: fromDateColumnOrNull(row.validTo),
      state: row.state,
      parts: row.shares.reduce((sum, share) => (share.keeperId === keeperId ? sum + share.parts : sum), 0),
      of: row.shares.reduce((sum, share) => sum + share.parts, 0),
    }));
  }

  /** Every change of the count of each lot. */
  async findLotChanges(lotIds: readonly string[]) {
    const rows = await this.database.client.lotChange.findMany({
      where: { lotId: { in: [...lotIds] } },
      orderBy: [{ happenedOn: 'asc' }, { recordedAt: 'asc' }, { id: 'asc' }],
    });
    return rows.map(({ lotId, cause, delta, estimated, happenedOn, recordedAt, recordedBy, reason }) => ({
      lotId,
      cause,
      delta,
      estimated,
      on: fromDateColumn(happenedOn),
      recordedAt,
      recordedBy,
      reason,
    }));
  }

  /** Every claim ever made on the parents of each animal, with its candidates. */
  async findClaims(childIds: readonly string[]) {
    const rows = await this.database.client.parentageClaim.findMany({
      where: { childId: { in: [...childIds] } },
      include: { candidates: { orderBy: { parentId: 'asc' } } },
      orderBy: { id: 'asc' },
    });
    return rows.map(({ childId, role, basis, withoutSire, edtf, evidence, recordedAt, supersededAt, candidates }) => ({
      childId,
      role,
      basis,
      withoutSire,
      edtf,
      evidence,
      recordedAt,
      supersededAt,
      candidates: candidates.map(({ parentId, probability }) => ({ parentId, probability: probability.toNumber() })),
    }));
  }

  /** Every merge in which one of the records takes part, undone ones too, oldest first. */
  async findMerges(animalIds: readonly string[]) {
    const ids = [...animalIds];
    return this.database.client.recordMerge.findMany({
      where: { OR: [{ keepId: { in: ids } }, { mergedId: { in: ids } }] },
      orderBy: { id: 'asc' },
    });
  }

  /** Transfers the keeper gives or receives, with the names the two parties see of each other, oldest first. */
  async findTransfers(keeperId: string) {
    const rows = await this.database.client.transfer.findMany({
      where: { OR: [{ fromKeeperId: keeperId }, { toKeeperId: keeperId }] },
      include: {
        fromKeeper: { select: { name: true } },
        toKeeper: { select: { name: true } },
        toOutsideParty: { select: { name: true } },
        items: { orderBy: { id: 'asc' }, include: { arrivals: { orderBy: { state: 'asc' } } } },
      },
      orderBy: [{ offeredAt: 'asc' }, { id: 'asc' }],
    });
    return rows.map((row) => ({
      id: row.id,
      side: row.fromKeeperId === keeperId ? ('giver' as const) : ('receiver' as const),
      other: row.fromKeeperId === keeperId ? receiverLabel(row) : row.fromKeeper.name,
      state: row.state,
      kind: row.kind,
      message: row.message,
      price:
        row.priceMinor === null || row.priceCurrency === null
          ? null
          : { minor: String(row.priceMinor), currency: row.priceCurrency },
      offeredAt: row.offeredAt,
      acceptedAt: row.acceptedAt,
      sentOn: fromDateColumnOrNull(row.sentOn),
      receivedOn: fromDateColumnOrNull(row.receivedOn),
      closedAt: row.closedAt,
      takenUpAt: row.takenUpAt,
      items: row.items.map(({ animalId, count, arrivals }) => ({
        animalId,
        count,
        arrivals: arrivals.map((arrival) => ({ state: arrival.state, count: arrival.count })),
      })),
    }));
  }

  /** Papers of the keeper's transfers that one of these accounts issued. */
  async findPapers(keeperId: string, accountIds: readonly string[]) {
    return this.database.client.recordPaper.findMany({
      where: {
        issuedBy: { in: [...accountIds] },
        transfer: { OR: [{ fromKeeperId: keeperId }, { toKeeperId: keeperId }] },
      },
      select: { transferId: true, checkCode: true, issuedAt: true, content: true },
      orderBy: [{ issuedAt: 'asc' }, { id: 'asc' }],
    });
  }

  /** The keeper's notices, oldest first. */
  async findNotices(keeperId: string) {
    const rows = await this.database.client.notice.findMany({
      where: { keeperId },
      select: { kind: true, body: true, dueOn: true, createdAt: true },
      orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    });
    return rows.map((row) => ({ ...row, dueOn: fromDateColumnOrNull(row.dueOn) }));
  }

  /** Parties without an account whom the keeper recorded. */
  async findOutsideParties(keeperId: string) {
    return this.database.client.outsideParty.findMany({
      where: { recordedFor: keeperId },
      select: { name: true, contact: true, createdAt: true },
      orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    });
  }
}

function receiverLabel(row: {
  takenUpAt: Date | null;
  toKeeper: { name: string } | null;
  toOutsideParty: { name: string } | null;
}): string {
  return row.takenUpAt === null ? ((row.toKeeper ?? row.toOutsideParty)?.name ?? '') : TAKEN_UP_LABEL;
}
