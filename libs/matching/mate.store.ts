import { Injectable } from '@nestjs/common';
import { fromDateColumnOrNull } from '../access/index.js';
import { type DaySpan, type Viewer } from '../kernel/index.js';
import { Database, Prisma } from '../platform/prisma/index.js';

/** A possible mate, before anything is computed: what the search needs of its row. */
export type MateRow = {
  readonly id: string;
  readonly registerNumber: string;
  readonly sexKnown: boolean;
  readonly birth: DaySpan | null;
  readonly inOpenTransfer: boolean;
};

/** Where a holder is, for distance bands only. */
export type HolderPlace = { readonly region: string | null; readonly shown: boolean };

type Row = {
  id: string;
  register_number: string;
  sex: string;
  birth_earliest: Date | null;
  birth_latest: Date | null;
  in_open_transfer: boolean;
};

/** Reads what a search for mates needs. */
@Injectable()
export class MateStore {
  constructor(private readonly database: Database) {}

  /**
   * Living individuals of the taxon and the line (null = animals of no line) that are not of `sex`, held by the viewer or by
   * somebody who shares lineage in one of the viewer's clubs. One statement over the access table, so that what is not shared is not read.
   */
  async findCandidates(
    viewer: Viewer,
    search: { animalId: string; taxonId: string; lineId: string | null; sex: string },
  ): Promise<MateRow[]> {
    const keeperIds = viewer.keepers.map((keeper) => keeper.keeperId);
    const line =
      search.lineId === null ? Prisma.sql`a.line_id IS NULL` : Prisma.sql`a.line_id = ${search.lineId}::uuid`;
    const rows = await this.database.client.$queryRaw<Row[]>`
      SELECT a.id, a.register_number, a.sex::text AS sex, a.birth_earliest, a.birth_latest,
             EXISTS (SELECT 1 FROM transfer_item t WHERE t.animal_id = a.id AND t.open) AS in_open_transfer
      FROM animal a
      WHERE a.taxon_id = ${search.taxonId}::uuid AND ${line} AND a.kind = 'individual' AND a.fate = 'alive'
        AND a.id <> ${search.animalId}::uuid AND (${search.sex} = 'unknown' OR a.sex::text <> ${search.sex})
        AND EXISTS (
          SELECT 1 FROM animal_access x JOIN keeper k ON k.id = x.keeper_id
          WHERE x.animal_id = a.id AND x.valid_to IS NULL AND x.relation <> 'receiver'
            AND (x.keeper_id = ANY(${keeperIds}::uuid[])
              OR (k.lineage_shared AND EXISTS (
                SELECT 1 FROM club_member m
                WHERE m.keeper_id = k.id AND m.club_id = ANY(${[...viewer.clubIds]}::uuid[]) AND m.left_on IS NULL))))`;
    return rows.map((row) => ({
      id: row.id,
      registerNumber: row.register_number,
      sexKnown: row.sex !== 'unknown',
      birth:
        row.birth_earliest === null && row.birth_latest === null
          ? null
          : { earliest: fromDateColumnOrNull(row.birth_earliest), latest: fromDateColumnOrNull(row.birth_latest) },
      inOpenTransfer: row.in_open_transfer,
    }));
  }

  /** Region of the keeper who has each animal, and whether that keeper shows holdings to one of the viewer's clubs. */
  async findPlaces(viewer: Viewer, animalIds: readonly string[]): Promise<Map<string, HolderPlace>> {
    const keeperIds = viewer.keepers.map((keeper) => keeper.keeperId);
    const rows = await this.database.client.$queryRaw<(HolderPlace & { animalId: string })[]>`
      SELECT c.animal_id AS "animalId", k.region,
             (k.id = ANY(${keeperIds}::uuid[]) OR (k.holdings_shown = 'club' AND EXISTS (
               SELECT 1 FROM club_member m
               WHERE m.keeper_id = k.id AND m.club_id = ANY(${[...viewer.clubIds]}::uuid[]) AND m.left_on IS NULL))) AS shown
      FROM custody c JOIN keeper k ON k.id = c.keeper_id
      WHERE c.animal_id = ANY(${[...animalIds]}::uuid[]) AND c.superseded_at IS NULL AND c.valid_to IS NULL`;
    return new Map(rows.map((row) => [row.animalId, row]));
  }

  /**
   * How many keepers of the viewer's clubs have living animals of this taxon and line. Others do not count: anybody can open
   * accounts and register animals, and so lift one holder out of the few whose region is not told.
   */
  async countHolders(viewer: Viewer, taxonId: string, lineId: string | null): Promise<number> {
    const line = lineId === null ? Prisma.sql`a.line_id IS NULL` : Prisma.sql`a.line_id = ${lineId}::uuid`;
    const [row] = await this.database.client.$queryRaw<{ holders: bigint }[]>`
      SELECT count(DISTINCT c.keeper_id) AS holders FROM custody c JOIN animal a ON a.id = c.animal_id
      WHERE a.taxon_id = ${taxonId}::uuid AND ${line} AND a.fate = 'alive' AND c.superseded_at IS NULL AND c.valid_to IS NULL
        AND EXISTS (SELECT 1 FROM club_member m
                    WHERE m.keeper_id = c.keeper_id AND m.club_id = ANY(${[...viewer.clubIds]}::uuid[]) AND m.left_on IS NULL)`;
    return Number(row?.holders ?? 0);
  }

  /** Region of the first of the viewer's keepers that says one. */
  async findOwnRegion(viewer: Viewer): Promise<string | null> {
    const keeper = await this.database.client.keeper.findFirst({
      where: { id: { in: viewer.keepers.map(({ keeperId }) => keeperId) }, region: { not: null } },
      orderBy: { id: 'asc' },
      select: { region: true },
    });
    return keeper?.region ?? null;
  }
}
