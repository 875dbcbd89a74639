import { Injectable } from '@nestjs/common';
import { type Viewer } from '../../kernel/index.js';
import { Database, type Db, Prisma } from '../../platform/prisma/index.js';
import { type CandidateRow } from '../core/candidate-table.core.js';
import { type KeeperView } from '../core/search-mates.core.js';

/** What changed among the candidates of a taxon since a look at the database. */
export type CandidateNews = {
  /** The database snapshot of this look: what it saw is known, all else comes with the next. */
  readonly snapshot: string;
  /** Animals to read again; null = all of the taxon. */
  readonly changed: readonly string[] | null;
};

type Row = {
  id: string;
  register_number: string;
  line_id: string | null;
  sex: CandidateRow['sex'];
  born_earliest: number | null;
  born_latest: number | null;
  promised: boolean;
  holder: string | null;
  holdings: CandidateRow['holdings'];
  withheld: boolean | null;
  owners: string[] | null;
  withholders: string[] | null;
  open: boolean | null;
  open_until: number | null;
};

/** Hours a row of the feed is kept: longer than a table in memory goes without a look, and any transaction, together. */
const FEED_HOURS = 6;

/** Deletes the rows of the feed that were old at `slot`: every process has read them, or reads its taxon anew. Gives how many. */
export async function deleteOldCandidateChanges(db: Db, slot: Date): Promise<number> {
  const before = new Date(slot.getTime() - FEED_HOURS * 3_600_000);
  const { count } = await db.candidateChange.deleteMany({ where: { changedAt: { lt: before } } });
  return count;
}

/** Rows a statement reads at most while a taxon is read for the first time, so that others are answered in between. */
const CHUNK = 5_000;

/**
 * Reads candidates without a scope: whom a viewer sees among them is decided from `findKeepers`, and every animal that is
 * shown passes the scope of `access` again. tests/authz/mate-scope.spec.ts holds the two together.
 */
@Injectable()
export class CandidateStore {
  constructor(private readonly database: Database) {}

  /**
   * What has become visible since an earlier look, in commit order or not: rows of the feed whose transaction that look did
   * not see. Without an earlier look only the snapshot of now.
   */
  async findNews(taxonId: string, earlier: string | null): Promise<CandidateNews> {
    const since = earlier === null ? Prisma.sql`false` : UNSEEN(earlier);
    const [row] = await this.database.client.$queryRaw<{ snapshot: string; changed: string[] | null; all: boolean }[]>`
      SELECT pg_current_snapshot()::text AS snapshot, c.changed, coalesce(c.many, false) AS all
      FROM (SELECT array_agg(DISTINCT animal_id) FILTER (WHERE animal_id IS NOT NULL) AS changed, bool_or(animal_id IS NULL) AS many
            FROM candidate_change WHERE taxon_id = ${taxonId}::uuid AND ${since}) c`;
    if (row === undefined) throw new Error('An aggregate gave no row.');
    return { snapshot: row.snapshot, changed: row.all ? null : (row.changed ?? []) };
  }

  /** Those of the animals that are candidates: living individuals of the taxon that are no merged record. */
  async findRows(taxonId: string, ids: readonly string[]): Promise<CandidateRow[]> {
    if (ids.length === 0) return [];
    return this.read(Prisma.sql`a.taxon_id = ${taxonId}::uuid AND a.id = ANY(${[...ids]}::uuid[])`, Prisma.empty);
  }

  /** All candidates of a taxon, in parts. */
  async *readAll(taxonId: string): AsyncGenerator<CandidateRow[]> {
    let last: string | null = null;
    for (;;) {
      const after: Prisma.Sql = last === null ? Prisma.empty : Prisma.sql`AND a.id > ${last}::uuid`;
      const rows = await this.read(
        Prisma.sql`a.taxon_id = ${taxonId}::uuid ${after}`,
        Prisma.sql`ORDER BY a.id LIMIT ${CHUNK}`,
      );
      yield rows;
      last = rows.at(-1)?.id ?? null;
      if (rows.length < CHUNK) return;
    }
  }

  private async read(where: Prisma.Sql, order: Prisma.Sql): Promise<CandidateRow[]> {
    const rows = await this.database.client.$queryRaw<Row[]>`
      SELECT a.id, a.register_number, a.line_id, a.sex::text AS sex,
             a.birth_earliest - DATE '1970-01-01' AS born_earliest, a.birth_latest - DATE '1970-01-01' AS born_latest,
             EXISTS (SELECT 1 FROM transfer_item t WHERE t.animal_id = a.id AND t.open) AS promised,
             x.holder, x.holdings, x.withheld, x.owners, x.withholders, b.open, b.until_on - DATE '1970-01-01' AS open_until
      FROM animal a
      CROSS JOIN LATERAL (
        SELECT min(keeper_id::text) FILTER (WHERE relation = 'holder') AS holder,
               min(id::text) FILTER (WHERE relation = 'holder') AS stay,
               min(holdings::text) FILTER (WHERE relation = 'holder') AS holdings,
               bool_or(lineage_withheld) FILTER (WHERE relation = 'holder') AS withheld,
               array_agg(keeper_id::text) FILTER (WHERE relation = 'owner') AS owners,
               array_agg(keeper_id::text) FILTER (WHERE relation = 'owner' AND lineage_withheld) AS withholders
        FROM animal_access WHERE animal_id = a.id AND valid_to IS NULL AND relation IN ('holder', 'owner')) x
      LEFT JOIN breeding_availability b ON b.access_id = x.stay::uuid
      WHERE ${where} AND a.kind = 'individual' AND a.fate = 'alive' AND a.merged_into_id IS NULL ${order}`;
    return rows.map((row) => ({
      id: row.id,
      registerNumber: row.register_number,
      lineId: row.line_id,
      sex: row.sex,
      bornEarliest: row.born_earliest,
      bornLatest: row.born_latest,
      promised: row.promised,
      holder: row.holder,
      holdings: row.holdings,
      // What a keeper withholds as holder or as owner, it withholds.
      withheld: row.withheld === true || (row.withholders ?? []).some((owner) => owner === row.holder),
      withholders: row.withholders ?? [],
      owners: (row.owners ?? []).filter((owner) => owner !== row.holder),
      open: row.open,
      openUntil: row.open_until,
    }));
  }

  /** Animals of a taxon with an entry in a quarantine group that has not been ended by a day: some of them are in quarantine. */
  async findEntered(taxonId: string, day: string): Promise<string[]> {
    const rows = await this.database.client.$queryRaw<{ animal_id: string }[]>`
      SELECT DISTINCT e.animal_id FROM quarantine_entry e
      JOIN animal a ON a.id = e.animal_id JOIN quarantine_group g ON g.id = e.group_id
      WHERE a.taxon_id = ${taxonId}::uuid AND a.fate = 'alive' AND (e.left_on IS NULL OR e.left_on > ${day}::date)
        AND (g.released_on IS NULL OR g.released_on > ${day}::date)`;
    return rows.map((row) => row.animal_id);
  }

  /** The viewer's own keepers and all members of the viewer's clubs, with what each shows; and the region of the first own one that says one. */
  async findKeepers(viewer: Viewer): Promise<{ keepers: Map<string, KeeperView>; ownRegion: string | null }> {
    const own = viewer.keepers.map(({ keeperId }) => keeperId);
    const rows = await this.database.client.$queryRaw<
      { id: string; own: boolean; in_club: boolean; lineage_shared: boolean; holdings: string; region: string | null }[]
    >`
      SELECT k.id, k.id = ANY(${own}::uuid[]) AS own, m.keeper_id IS NOT NULL AS in_club, k.lineage_shared,
             k.holdings_shown::text AS holdings, k.region
      FROM keeper k
      LEFT JOIN (SELECT DISTINCT keeper_id FROM club_member
                 WHERE club_id = ANY(${[...viewer.clubIds]}::uuid[]) AND left_on IS NULL) m ON m.keeper_id = k.id
      WHERE k.id = ANY(${own}::uuid[]) OR m.keeper_id IS NOT NULL
      ORDER BY k.id`;
    const keepers = rows.map((row): [string, KeeperView] => [
      row.id,
      {
        own: row.own,
        sees: row.own || (row.in_club && row.lineage_shared),
        inClub: row.in_club,
        shown: row.own || (row.in_club && row.holdings === 'club'),
        region: row.region,
      },
    ]);
    return { keepers: new Map(keepers), ownRegion: rows.find((row) => row.own && row.region !== null)?.region ?? null };
  }
}

// Every transaction below xmin had ended for the earlier look, so the index leaves all but the newest rows aside.
const UNSEEN = (earlier: string): Prisma.Sql => Prisma.sql`xid >= ${BigInt(earlier.split(':')[0] ?? '0')}
  AND NOT pg_visible_in_snapshot(xid::text::xid8, ${earlier}::pg_snapshot)`;
