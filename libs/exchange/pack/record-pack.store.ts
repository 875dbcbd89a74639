import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { v7 as uuid } from 'uuid';
import { Database, type Tx } from '../../platform/prisma/index.js';

/** Reads what only a record pack needs, every version: the caller has the animals from the viewer's scope and cuts by moment. */
@Injectable()
export class RecordPackStore {
  constructor(private readonly database: Database) {}

  /** How each animal came out of a clutch, with all versions of the clutch and what happened to its eggs. */
  async findHatchings(animalIds: readonly string[]) {
    return this.database.client.hatching.findMany({
      where: { animalId: { in: [...animalIds] } },
      include: {
        egg: { select: { number: true } },
        clutch: {
          select: {
            original: {
              select: {
                versions: { include: { candidates: { orderBy: { damId: 'asc' } } }, orderBy: { id: 'asc' } },
                eggEvents: { orderBy: { id: 'asc' } },
              },
            },
          },
        },
      },
      orderBy: { id: 'asc' },
    });
  }

  async findMatings(damIds: readonly string[]) {
    return this.database.client.mating.findMany({ where: { damId: { in: [...damIds] } }, orderBy: { id: 'asc' } });
  }

  async findCustody(animalIds: readonly string[]) {
    const rows = await this.database.client.custody.findMany({
      where: { animalId: { in: [...animalIds] } },
      orderBy: [{ validFrom: 'asc' }, { id: 'asc' }],
    });
    return rows.map(({ validFrom, validTo, ...row }) => ({
      ...row,
      from: fromDateColumn(validFrom),
      to: fromDateColumnOrNull(validTo),
    }));
  }

  async findQuarantines(animalIds: readonly string[]) {
    const rows = await this.database.client.quarantineEntry.findMany({
      where: { animalId: { in: [...animalIds] } },
      include: { group: { select: { days: true } } },
      orderBy: [{ enteredOn: 'asc' }, { id: 'asc' }],
    });
    return rows.map(({ animalId, recordedAt, enteredOn, leftOn, group }) => ({
      animalId,
      recordedAt,
      days: group.days,
      enteredOn: fromDateColumn(enteredOn),
      leftOn: fromDateColumnOrNull(leftOn),
    }));
  }

  /** Taxon and sex of animals that the viewer may not know: the place of an ancestor needs them, nothing else is read. */
  async findPlaces(animalIds: readonly string[]) {
    const rows = await this.database.client.animal.findMany({
      where: { id: { in: [...animalIds] } },
      select: { id: true, taxon: { select: { scientificName: true } } },
    });
    return new Map(rows.map((row) => [row.id, row.taxon.scientificName]));
  }
}

/** The line of a taxon with a name, made where there is none. */
export async function ensureLine(tx: Tx, taxonId: string, name: string): Promise<string> {
  const known = await tx.db.line.findFirst({ where: { taxonId, name }, select: { id: true } });
  if (known !== null) return known.id;
  const id = uuid();
  await tx.db.line.create({ data: { id, taxonId, name } });
  return id;
}
