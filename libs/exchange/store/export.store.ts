import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { Database } from '../../platform/prisma/index.js';
import { uncertain } from './uncertain.js';

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

  /** Every change of the count of each lot, corrected ones too. */
  async findLotChanges(lotIds: readonly string[]) {
    const rows = await this.database.client.lotChange.findMany({
      where: { lotId: { in: [...lotIds] } },
      orderBy: [{ happenedOn: 'asc' }, { recordedAt: 'asc' }, { id: 'asc' }],
    });
    return rows.map(({ lotId, cause, delta, estimated, happenedOn, recordedAt, supersededAt, recordedBy, reason }) => ({
      lotId,
      cause,
      delta,
      estimated,
      on: fromDateColumn(happenedOn),
      recordedAt,
      supersededAt,
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

  /** What each fact in the record was corrected by, with the reason, and the fact it puts back in force. */
  async findFactCorrections(animalIds: readonly string[]) {
    const rows = await this.database.client.animalFact.findMany({
      where: { animalId: { in: [...animalIds] } },
      select: { id: true, keeperId: true, supersededBy: true, reason: true, restoresId: true },
    });
    return new Map(rows.map(({ id, ...row }) => [id, row]));
  }

  /** Files the keeper sent of each animal, oldest first, withdrawn ones too. */
  async findFiles(keeperId: string, animalIds: readonly string[]) {
    const rows = await this.database.client.animalFile.findMany({
      where: { keeperId, animalId: { in: [...animalIds] } },
      orderBy: [{ uploadedAt: 'asc' }, { id: 'asc' }],
    });
    return rows.map((row) => ({
      animalId: row.animalId,
      fileName: row.fileName,
      mediaType: row.originalType,
      size: row.originalSize,
      sha256: row.originalSha256,
      caption: row.caption,
      claimedTakenAt: row.claimedTakenAt,
      when: uncertain(row),
      uploadedAt: row.uploadedAt.toISOString(),
      withdrawnAt: row.withdrawnAt?.toISOString() ?? null,
      withdrawnBecause: row.reason,
      address: row.withdrawnAt === null ? `/animals/${row.animalId}/files/${row.id}/original` : null,
    }));
  }
}
