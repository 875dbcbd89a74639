import { Injectable } from '@nestjs/common';
import { fromDateColumnOrNull } from '../../access/index.js';
import { type Day, notFound } from '../../kernel/index.js';
import { Database } from '../../platform/prisma/index.js';
import { readStays, type SharedStay, sharedStays, type StayOnRecord } from './shared-stays.store.js';

/** An enclosure of a keeper. `controlled`: whether it keeps animals, eggs and gametes in and out, and since when. */
export type Enclosure = {
  readonly id: string;
  readonly keeperId: string;
  readonly name: string;
  readonly setting: 'indoor' | 'outdoor' | 'unknown';
  readonly room: string | null;
  readonly controlled: 'yes' | 'no' | 'unknown';
  readonly controlledSince: Day | null;
};

/** Reads enclosures and stays for their own keeper, and nobody else. */
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
    const found = (await this.findOwn(keeperIds, [id])).get(id);
    if (found === undefined) throw notFound('enclosure');
    return found;
  }

  /** The enclosures of `ids` that one of the keepers has. */
  async findOwn(keeperIds: readonly string[], ids: readonly string[]): Promise<Map<string, Enclosure>> {
    const rows = await this.database.client.enclosure.findMany({
      where: { id: { in: [...ids] }, keeperId: { in: [...keeperIds] } },
    });
    return new Map(rows.map((row) => [row.id, toEnclosure(row)]));
  }

  /** Stays in own enclosures, of animals or in enclosures, that touch the days; see `readStays`. */
  async stays(filter: Parameters<typeof readStays>[1]): Promise<StayOnRecord[]> {
    return readStays(this.database.client, filter);
  }

  /** Who shared an own enclosure with the animals; see `sharedStays`. */
  async shared(filter: Parameters<typeof sharedStays>[1]): Promise<SharedStay[]> {
    return sharedStays(this.database.client, filter);
  }
}

type EnclosureRow = Omit<Enclosure, 'controlledSince'> & { controlledSince: Date | null };

export function toEnclosure(row: EnclosureRow): Enclosure {
  return {
    id: row.id,
    keeperId: row.keeperId,
    name: row.name,
    setting: row.setting,
    room: row.room,
    controlled: row.controlled,
    controlledSince: fromDateColumnOrNull(row.controlledSince),
  };
}
