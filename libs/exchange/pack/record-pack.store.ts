import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { findGroupsOf, readQuarantines, type StoredQuarantine } from '../../health/index.js';
import { Database, type Prisma } from '../../platform/prisma/index.js';

type Dated = { readonly edtf: string | null; readonly earliest: Date | null; readonly latest: Date | null };

/** When something happened, of a row that has it in three columns. */
export function whenOf({ edtf, earliest, latest }: Dated) {
  return edtf === null
    ? null
    : { edtf, earliest: fromDateColumnOrNull(earliest), latest: fromDateColumnOrNull(latest) };
}

const RECORDED = [{ recordedAt: 'asc' }, { id: 'asc' }] as const satisfies Prisma.MatingOrderByWithRelationInput[];

/**
 * Reads what only a record pack needs: every version, in the order of recording, a fixed number of statements however many
 * animals. No scope: the caller has the animals from the viewer's scope, and cuts by the moment.
 */
@Injectable()
export class RecordPackStore {
  constructor(private readonly database: Database) {}

  /** The names of keepers, by id. The caller acts for them. */
  async findNames(keeperIds: readonly string[]): Promise<Map<string, string>> {
    const rows = await this.database.client.keeper.findMany({
      where: { id: { in: [...keeperIds] } },
      select: { id: true, name: true },
    });
    return new Map(rows.map((row) => [row.id, row.name]));
  }

  /** The taxon of animals that the viewer may not know: their place needs it, nothing else is read. */
  async findPlaces(animalIds: readonly string[]): Promise<Map<string, string>> {
    const rows = await this.database.client.animal.findMany({
      where: { id: { in: [...animalIds] } },
      select: { id: true, taxon: { select: { scientificName: true } } },
    });
    return new Map(rows.map((row) => [row.id, row.taxon.scientificName]));
  }

  /** Matings in which one of the animals took part. */
  async findMatings(animalIds: readonly string[]) {
    const ids = [...animalIds];
    return this.database.client.mating.findMany({
      where: { OR: [{ damId: { in: ids } }, { sireId: { in: ids } }] },
      orderBy: [...RECORDED],
    });
  }

  /** The clutches the animals laid, may have laid or came out of, with every version, their eggs and all their young. */
  async findClutches(animalIds: readonly string[]) {
    const { client } = this.database;
    const ids = [...animalIds];
    const laid = await client.clutch.findMany({
      where: { OR: [{ damId: { in: ids } }, { candidates: { some: { damId: { in: ids } } } }] },
      select: { originalId: true },
    });
    const left = await client.hatching.findMany({
      where: { animalId: { in: ids } },
      select: { clutch: { select: { originalId: true } } },
    });
    const originalIds = [...new Set([...laid, ...left.map(({ clutch }) => clutch)].map((row) => row.originalId))];
    const versions = await client.clutch.findMany({
      where: { originalId: { in: originalIds } },
      include: { candidates: { orderBy: { damId: 'asc' } } },
      orderBy: [...RECORDED],
    });
    const egg = { select: { number: true } };
    const events = await client.eggEvent.findMany({
      where: { clutchId: { in: originalIds } },
      include: { egg },
      orderBy: [...RECORDED],
    });
    const hatchings = await client.hatching.findMany({
      where: { clutch: { originalId: { in: originalIds } } },
      include: { egg, clutch: { select: { originalId: true } } },
      orderBy: [...RECORDED],
    });
    return originalIds.toSorted().map((originalId) => ({
      versions: versions
        .filter((row) => row.originalId === originalId)
        .map(({ damId, candidates, ...row }) => ({
          ...row,
          dams:
            damId === null
              ? candidates.map((each) => ({ damId: each.damId, probability: each.probability.toNumber() }))
              : [{ damId, probability: 1 }],
        })),
      events: events.filter((row) => row.clutchId === originalId),
      hatchings: hatchings.filter((row) => row.clutch.originalId === originalId),
    }));
  }

  /** Every merge of one of the animals with another record, oldest first. */
  async findMerges(animalIds: readonly string[]) {
    const ids = [...animalIds];
    return this.database.client.recordMerge.findMany({
      where: { OR: [{ keepId: { in: ids } }, { mergedId: { in: ids } }] },
      orderBy: [...RECORDED],
    });
  }

  /** Every change of the count of these lots, and every change of another lot by which one of these records began. */
  async findLotChanges(animalIds: readonly string[]) {
    const ids = [...animalIds];
    return this.database.client.lotChange.findMany({
      where: {
        OR: [{ lotId: { in: ids } }, { counterpartId: { in: ids }, cause: { in: ['raised_out', 'split_out'] } }],
      },
      orderBy: [{ happenedOn: 'asc' }, { recordedAt: 'asc' }, { id: 'asc' }],
    });
  }

  async findCustody(animalIds: readonly string[]) {
    const rows = await this.database.client.custody.findMany({
      where: { animalId: { in: [...animalIds] } },
      orderBy: [{ validFrom: 'asc' }, { validTo: { sort: 'asc', nulls: 'last' } }, { id: 'asc' }],
    });
    return rows.map(({ validFrom, validTo, ...row }) => ({
      ...row,
      from: fromDateColumn(validFrom),
      to: fromDateColumnOrNull(validTo),
    }));
  }

  async findOwnership(animalIds: readonly string[]) {
    const rows = await this.database.client.ownership.findMany({
      where: { animalId: { in: [...animalIds] } },
      include: { shares: { orderBy: { id: 'asc' } } },
      orderBy: [{ validFrom: 'asc' }, { validTo: { sort: 'asc', nulls: 'last' } }, { id: 'asc' }],
    });
    return rows.map(({ validFrom, validTo, ...row }) => ({
      ...row,
      from: fromDateColumn(validFrom),
      to: fromDateColumnOrNull(validTo),
    }));
  }

  /** Every quarantine group the animals are or were in, with all its entries. */
  async findQuarantines(animalIds: readonly string[]): Promise<StoredQuarantine[]> {
    const { client } = this.database;
    return readQuarantines(client, await findGroupsOf(client, animalIds));
  }

  /** Which documents, in which version, name each of the animals. */
  async findCovers(animalIds: readonly string[]) {
    const rows = await this.database.client.documentCover.findMany({
      where: { animalId: { in: [...animalIds] } },
      select: { animalId: true, document: { select: { id: true, recordedAt: true, supersededAt: true } } },
      orderBy: { documentId: 'asc' },
    });
    return rows.map(({ animalId, document }) => ({ animalId: animalId ?? '', ...document }));
  }
}
