import { Injectable } from '@nestjs/common';
import { Database, Prisma } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { type ParentRole } from '../claims/parentage.core.js';
import { type AnimalNews } from './pedigree-growth.core.js';

/** What changed in a population, and what it is as of. */
export type LineageNews = {
  readonly version: bigint;
  readonly seen: string;
  /** Records that changed, as they are now, in no order; null when they are too many to go through one by one, or no longer known. */
  readonly changed: readonly AnimalNews[] | null;
};

/** A claim on a parent over its time in force. */
export type StoredClaim = {
  readonly role: ParentRole;
  /** The parent, where there is one candidate with certainty. */
  readonly parentId: string | null;
  /** Everybody who may be the parent, with probabilities that sum to 1. None where there was no sire. */
  readonly candidates: readonly { readonly parentId: string; readonly probability: number }[];
  readonly withoutSire: boolean;
  readonly recordedAt: Date;
  readonly supersededAt: Date | null;
};

/** Changes of a taxon that a holder of `version` and `seen` has not seen. Ids of transactions above xmax can only be left over from another server. */
const lineageChanged = (taxonId: string, version: bigint) => Prisma.sql`
  SELECT c.animal_id, true AS in_lineage FROM lineage_change c JOIN lineage_population l ON l.id = c.population_id
  WHERE l.taxon_id = ${taxonId}::uuid AND c.version > ${version}`;
const livingChanged = (taxonId: string, seen: string) => Prisma.sql`
  SELECT c.animal_id, false AS in_lineage FROM living_change c
  WHERE c.taxon_id = ${taxonId}::uuid
    AND c.transaction >= pg_snapshot_xmin(${seen}::pg_snapshot)::text::bigint
    AND c.transaction < pg_snapshot_xmax(pg_current_snapshot())::text::bigint
    AND NOT pg_visible_in_snapshot(c.transaction::text::xid8, ${seen}::pg_snapshot)`;

/** Whether changes were deleted that a holder of `seen` may not have seen; see `deleteOldLivingChanges`. */
const livingPruned = (taxonId: string, seen: string) => Prisma.sql`
  SELECT FROM living_pruned p
  WHERE p.taxon_id = ${taxonId}::uuid
    AND p.transaction >= pg_snapshot_xmin(${seen}::pg_snapshot)::text::bigint
    AND p.transaction < pg_snapshot_xmax(pg_current_snapshot())::text::bigint`;

/** What a reader has seen of a population: the version of its lineage, and the database snapshot it was read under. */
export type Seen = { readonly version: bigint; readonly seen: string };

type NewsRow = {
  version: bigint;
  seen: string;
  pruned: boolean;
  id: string | null;
  in_lineage: boolean;
  present: boolean;
  alive: boolean | null;
  declared_founder: boolean | null;
  merged_into_id: string | null;
  claims: AnimalNews['claims'] | null;
};

type ClaimRow = {
  child_id: string;
  role: ParentRole;
  without_sire: boolean;
  candidates: { parentId: string; probability: number }[];
  recorded_at: Date;
  superseded_at: Date | null;
};

/**
 * Reads the pedigrees without a scope: numbers use all of the lineage, whoever asks. What a viewer may see of an ancestor is
 * decided where it is shown.
 */
@Injectable()
export class LineageReadStore {
  constructor(private readonly database: Database) {}

  /**
   * Whether nothing changed in a population since a version and a database snapshot. Asked of the primary, so that a writer
   * reads their own write. One statement.
   */
  async isCurrent(taxonId: string, { version, seen }: Seen): Promise<boolean> {
    const [row] = await this.database.client.$queryRaw<{ current: boolean }[]>`
      SELECT COALESCE((SELECT l.version FROM lineage_population l WHERE l.taxon_id = ${taxonId}::uuid), 0) = ${version}
        AND NOT EXISTS (${livingChanged(taxonId, seen)}) AND NOT EXISTS (${livingPruned(taxonId, seen)}) AS current`;
    return row?.current === true;
  }

  /** What changed since, in one statement and so as of one moment; at most `most` records, and none where some were deleted. */
  async readNews(taxonId: string, { version, seen }: Seen, most: number): Promise<LineageNews> {
    const rows = await this.database.client.$queryRaw<NewsRow[]>`
      WITH changed AS MATERIALIZED (
        SELECT animal_id, bool_or(in_lineage) AS in_lineage
        FROM (${lineageChanged(taxonId, version)} UNION ALL ${livingChanged(taxonId, seen)}) news
        GROUP BY animal_id LIMIT ${most + 1})
      SELECT COALESCE((SELECT version FROM lineage_population WHERE taxon_id = ${taxonId}::uuid), 0) AS version,
             pg_current_snapshot()::text AS seen, EXISTS (${livingPruned(taxonId, seen)}) AS pruned, c.animal_id AS id, c.in_lineage,
             COALESCE(a.taxon_id = ${taxonId}::uuid, false) AS present, a.kind = 'individual' AND a.fate = 'alive' AS alive,
             a.declared_founder, a.merged_into_id,
             CASE WHEN (SELECT count(*) FROM changed) <= ${most} THEN (
               SELECT json_agg(json_build_object('role', p.role, 'withoutSire', p.without_sire, 'candidates', COALESCE(
                 (SELECT json_agg(json_build_object('parentId', k.parent_id, 'probability', k.probability,
                                                    'inside', x.taxon_id = ${taxonId}::uuid) ORDER BY k.parent_id)
                  FROM parent_candidate k JOIN animal x ON x.id = k.parent_id WHERE k.claim_id = p.id), '[]')))
               FROM parentage_claim p WHERE p.child_id = c.animal_id AND p.superseded_at IS NULL) END AS claims
      FROM (SELECT 1) one LEFT JOIN changed c ON true LEFT JOIN animal a ON a.id = c.animal_id`;
    const [first] = rows;
    if (first === undefined) throw new Error('A statement that gives one row at least gave none.');
    const news = rows.flatMap(({ id, ...row }) => (id === null ? [] : [toNews({ id, ...row })]));
    return { version: first.version, seen: first.seen, changed: first.pruned || news.length > most ? null : news };
  }

  /** Records merged with some of these, now or once, and whether that was recorded or undone after a moment. */
  async findMerges(ids: readonly string[], after: Date): Promise<{ mergedId: string; isLater: boolean }[]> {
    return this.database.client.$queryRaw`
      SELECT merged_id AS "mergedId", recorded_at > ${after} OR COALESCE(superseded_at > ${after}, false) AS "isLater"
      FROM record_merge WHERE keep_id = ANY(${[...ids]}::uuid[]) OR merged_id = ANY(${[...ids]}::uuid[])`;
  }

  /** Every claim ever made on the parents of each animal. */
  async findClaims(childIds: readonly string[]): Promise<Map<string, StoredClaim[]>> {
    const rows = await this.database.client.$queryRaw<ClaimRow[]>`
      SELECT c.child_id, c.role::text AS role, c.without_sire, c.recorded_at, c.superseded_at, COALESCE(
        (SELECT json_agg(json_build_object('parentId', p.parent_id, 'probability', p.probability)
                         ORDER BY p.probability DESC, p.parent_id)
         FROM parent_candidate p WHERE p.claim_id = c.id), '[]') AS candidates
      FROM parentage_claim c WHERE c.child_id = ANY(${[...childIds]}::uuid[]) ORDER BY c.recorded_at, c.id`;
    const claims = groupRows(rows, (row) => row.child_id);
    return new Map([...claims].map(([id, group]) => [id, group.map(toStoredClaim)]));
  }
}

function toStoredClaim(row: ClaimRow): StoredClaim {
  const certain = row.candidates.find(({ probability }) => probability === 1);
  return {
    role: row.role,
    parentId: certain?.parentId ?? null,
    candidates: row.candidates,
    withoutSire: row.without_sire,
    recordedAt: row.recorded_at,
    supersededAt: row.superseded_at,
  };
}

function toNews(row: NewsRow & { id: string }): AnimalNews {
  return {
    id: row.id,
    inLineage: row.in_lineage,
    present: row.present,
    alive: row.alive === true,
    declaredFounder: row.declared_founder === true,
    mergedIntoId: row.merged_into_id,
    claims: row.claims ?? [],
  };
}
