import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull } from '../access/index.js';
import { day, type Day } from '../kernel/index.js';
import { Database, type Db, Prisma } from '../platform/prisma/index.js';
import { groupRows } from '../taxon/index.js';
import { cutByMemberships, type StockChange, type StockPeriod, type StockRecord } from './regional-stock.core.js';

/** What is read: a club's region, one taxon or all, some days. Who may ask is the caller's to know. */
export type Selection = {
  readonly clubId: string;
  readonly region: string;
  readonly taxonId: string | null;
  readonly since: Day;
  readonly asOf: Day;
};

/** The records of a selection, and the scientific name of each taxon among them. */
export type SelectedStock = { readonly records: readonly StockRecord[]; readonly names: ReadonlyMap<string, string> };

type RecordRow = {
  id: string;
  taxon_id: string;
  scientific_name: string;
  kind: StockRecord['kind'];
  sex: StockRecord['sex'];
  origin_class: StockRecord['originClass'];
  birth_earliest: Date | null;
  birth_latest: Date | null;
};

type PeriodRow = {
  animal_id: string;
  valid_from: Date;
  valid_to: Date | null;
  began_at: Date;
  arrived_by: string;
  left_by: string | null;
  keeper_id: string | null;
  /** Memberships that touch are one: who leaves and comes back on one day was never gone. */
  memberships: { joined: string; left: string | null }[];
};

type ChangeRow = {
  lot_id: string;
  cause: StockChange['cause'];
  delta: number;
  happened_on: Date;
  recorded_at: Date;
};

/**
 * Whether keeper `k` shows coordinators that it had the animal of custody period `c`. What it set for the animal holds for all
 * its time with it; of several stays the most hidden counts.
 */
const SHOWN = Prisma.sql`coalesce(
  (SELECT min(s.holdings) FROM access_sharing s WHERE s.animal_id = c.animal_id AND s.keeper_id = k.id AND s.relation = 'holder'),
  k.holdings_shown) >= 'coordinator'`;

/** Reads what the stock of a region is counted from. A keeper who shows their holdings to nobody is in none of its statements. */
@Injectable()
export class RegionalStockStore {
  constructor(private readonly database: Database) {}

  /**
   * Everything a shown keeper of the region had as a member on a day of the selection, with its whole chain of holders. Region
   * and audience are today's, membership is that of each day. Holders who are not shown come without any identity.
   */
  async read(selection: Selection): Promise<SelectedStock> {
    return this.database.client.$transaction(
      async (db) => {
        const rows = await readRecords(db, selection);
        const ids = rows.map((row) => row.id);
        const periods = groupRows(await readPeriods(db, selection, ids), (row) => row.animal_id);
        const changes = groupRows(await readChanges(db, ids), (row) => row.lot_id);
        const records = rows.map((row) => ({
          ...toRecord(row),
          periods: (periods.get(row.id) ?? []).flatMap(toPeriods),
          changes: (changes.get(row.id) ?? []).map((change) => ({
            cause: change.cause,
            delta: change.delta,
            on: fromDateColumn(change.happened_on),
            recordedAt: change.recorded_at,
          })),
        }));
        return { records, names: new Map(rows.map((row) => [row.taxon_id, row.scientific_name])) };
      },
      // One view of all three statements: a transfer between them would not balance.
      { isolationLevel: 'RepeatableRead', timeout: 30_000 },
    );
  }
}

async function readRecords(db: Db, { clubId, region, taxonId, since, asOf }: Selection): Promise<RecordRow[]> {
  return db.$queryRaw<RecordRow[]>`
    SELECT a.id, a.taxon_id, t.scientific_name, a.kind::text AS kind, a.sex::text AS sex, a.origin_class::text AS origin_class,
           a.birth_earliest, a.birth_latest
    FROM animal a JOIN taxon t ON t.id = a.taxon_id
    WHERE a.id IN (
        SELECT c.animal_id
        FROM club_member m
        JOIN keeper k ON k.id = m.keeper_id AND k.region = ${region}
        JOIN custody c ON c.keeper_id = k.id AND c.superseded_at IS NULL AND ${SHOWN}
        WHERE m.club_id = ${clubId}::uuid AND m.joined_on <= ${asOf}::date AND (m.left_on IS NULL OR m.left_on >= ${since}::date)
          AND c.valid_from <= ${asOf}::date AND (c.valid_to IS NULL OR c.valid_to >= ${since}::date))
      AND (${taxonId}::uuid IS NULL OR a.taxon_id = ${taxonId}::uuid)
    ORDER BY a.id`;
}

/** The periods in force. A period that was corrected began when its first version was recorded, as in the stock book. */
async function readPeriods(db: Db, { clubId, region }: Selection, ids: readonly string[]): Promise<PeriodRow[]> {
  return db.$queryRaw<PeriodRow[]>`
    WITH RECURSIVE version AS (
      SELECT c.id AS head, c.id, c.animal_id, c.recorded_at FROM custody c
      WHERE c.animal_id = ANY(${[...ids]}::uuid[]) AND c.superseded_at IS NULL
      UNION ALL
      SELECT v.head, p.id, p.animal_id, p.recorded_at
      FROM version v JOIN custody p ON p.animal_id = v.animal_id AND p.superseded_by = v.id
    ), history AS (SELECT head, min(recorded_at) AS began_at FROM version GROUP BY head)
    SELECT c.animal_id, c.valid_from, c.valid_to, h.began_at, c.arrived_by, c.left_by, k.id AS keeper_id,
      (SELECT coalesce(jsonb_agg(jsonb_build_object('joined', lower(r), 'left', upper(r)) ORDER BY r), '[]')
        FROM unnest((SELECT range_agg(daterange(m.joined_on, m.left_on)) FROM club_member m
                     WHERE m.keeper_id = k.id AND m.club_id = ${clubId}::uuid)) r) AS memberships
    FROM custody c JOIN history h ON h.head = c.id
    LEFT JOIN keeper k ON k.id = c.keeper_id AND k.region = ${region} AND ${SHOWN}
    ORDER BY c.animal_id, c.valid_from, coalesce(c.valid_to, 'infinity'::date), h.began_at, c.id`;
}

async function readChanges(db: Db, ids: readonly string[]): Promise<ChangeRow[]> {
  return db.$queryRaw<ChangeRow[]>`
    SELECT lot_id, cause::text AS cause, delta, happened_on, recorded_at FROM lot_change
    WHERE lot_id = ANY(${[...ids]}::uuid[]) AND superseded_at IS NULL ORDER BY happened_on, recorded_at, id`;
}

function toRecord(row: RecordRow): Omit<StockRecord, 'periods' | 'changes'> {
  const birth = {
    earliest: fromDateColumnOrNull(row.birth_earliest),
    latest: fromDateColumnOrNull(row.birth_latest),
  };
  return {
    id: row.id,
    taxonId: row.taxon_id,
    kind: row.kind,
    sex: row.sex,
    originClass: row.origin_class,
    birth: birth.earliest === null && birth.latest === null ? null : birth,
  };
}

function toPeriods(row: PeriodRow): StockPeriod[] {
  const { keeper_id: keeperId } = row;
  const period = {
    from: fromDateColumn(row.valid_from),
    to: fromDateColumnOrNull(row.valid_to),
    beganAt: row.began_at,
    arrivedBy: row.arrived_by,
    leftBy: row.left_by,
  };
  if (keeperId === null) return [{ ...period, shown: null }];
  const memberships = row.memberships.map(({ joined, left }) => {
    return { keeperId, joined: day(joined), left: left === null ? null : day(left) };
  });
  return cutByMemberships(period, memberships);
}
