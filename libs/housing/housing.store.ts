import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { fromDateColumn, fromDateColumnOrNull, toDateColumn } from '../access/index.js';
import { type Day, notFound } from '../kernel/index.js';
import { Database, type Tx } from '../platform/prisma/index.js';

/** An enclosure of a keeper. `controlled`: whether it keeps animals, eggs and gametes in and out, and since when. */
export type Enclosure = {
  readonly id: string;
  readonly keeperId: string;
  readonly name: string;
  readonly controlled: 'yes' | 'no' | 'unknown';
  readonly controlledSince: Day | null;
};

/** The stay an animal is in now. */
export type OpenStay = {
  readonly id: string;
  readonly animalId: string;
  readonly enclosureId: string;
  readonly keeperId: string;
  readonly from: Day;
};

/** Reads enclosures for their own keeper, and nobody else. */
@Injectable()
export class HousingReadStore {
  constructor(private readonly database: Database) {}

  /** A page of a keeper's enclosures in the order they were recorded, with one more than asked where there is one. The caller acts for the keeper. */
  async pageOfKeeper(keeperId: string, first: number, afterId: string | null): Promise<Enclosure[]> {
    const rows = await this.database.client.enclosure.findMany({
      where: { keeperId, ...(afterId === null ? {} : { id: { gt: afterId } }) },
      orderBy: { id: 'asc' },
      take: first + 1,
    });
    return rows.map(toEnclosure);
  }

  /** One enclosure of one of the keepers. Throws NOT_FOUND. */
  async getOwn(keeperIds: readonly string[], id: string): Promise<Enclosure> {
    const row = await this.database.client.enclosure.findFirst({ where: { id, keeperId: { in: [...keeperIds] } } });
    if (row === null) throw notFound('enclosure');
    return toEnclosure(row);
  }
}

/** Adds an enclosure and gives its id. */
export async function insertEnclosure(tx: Tx, enclosure: Omit<Enclosure, 'id'>): Promise<string> {
  const id = uuid();
  const { controlledSince: since, ...columns } = enclosure;
  await tx.db.enclosure.create({
    data: { id, ...columns, controlledSince: since === null ? null : toDateColumn(since), createdAt: tx.now },
  });
  return id;
}

/** The enclosure, inside a transaction; null when none of the keepers has it. */
export async function findOwnEnclosure(tx: Tx, keeperIds: readonly string[], id: string): Promise<Enclosure | null> {
  const row = await tx.db.enclosure.findFirst({ where: { id, keeperId: { in: [...keeperIds] } } });
  return row === null ? null : toEnclosure(row);
}

/** The stay each animal is in now, by animal. Call `lockAnimals` first. */
export async function openStays(tx: Tx, animalIds: readonly string[]): Promise<Map<string, OpenStay>> {
  const rows = await tx.db.placement.findMany({
    where: { animalId: { in: [...animalIds] }, supersededAt: null, validTo: null },
    include: { enclosure: { select: { keeperId: true } } },
  });
  return new Map(
    rows.map((row) => [
      row.animalId,
      {
        id: row.id,
        animalId: row.animalId,
        enclosureId: row.enclosureId,
        keeperId: row.enclosure.keeperId,
        from: fromDateColumn(row.validFrom),
      },
    ]),
  );
}

/** Begins a stay. EXCLUDE has the last word: PLACEMENT_OVERLAPS. */
export async function beginStay(tx: Tx, stay: { animalId: string; enclosureId: string; from: Day }): Promise<void> {
  await tx.db.placement.create({ data: { ...stayColumns(tx, stay), validFrom: toDateColumn(stay.from) } });
}

/** Ends a stay: the open row is superseded by a closed one, so that its history is kept. */
export async function endStay(tx: Tx, stay: OpenStay, on: Day): Promise<void> {
  const closed = stayColumns(tx, stay);
  // The open row gives its days free first: the constraint looks at every row in force.
  await tx.db.placement.update({
    where: { id: stay.id },
    data: { supersededAt: tx.now, supersededBy: closed.id, reason: 'The stay ended.' },
  });
  await tx.db.placement.create({
    data: { ...closed, validFrom: toDateColumn(stay.from), validTo: toDateColumn(on) },
  });
}

function stayColumns(tx: Tx, stay: { animalId: string; enclosureId: string }) {
  return {
    id: uuid(),
    animalId: stay.animalId,
    enclosureId: stay.enclosureId,
    recordedAt: tx.now,
    recordedBy: tx.actorId ?? stay.animalId,
  };
}

function toEnclosure(row: Omit<Enclosure, 'controlledSince'> & { controlledSince: Date | null }): Enclosure {
  return {
    id: row.id,
    keeperId: row.keeperId,
    name: row.name,
    controlled: row.controlled,
    controlledSince: fromDateColumnOrNull(row.controlledSince),
  };
}
