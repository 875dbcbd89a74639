import { Injectable } from '@nestjs/common';
import { Database, Prisma } from '../platform/prisma/index.js';
import { groupRows } from '../taxon/index.js';
import { type ParentRole } from './parentage.core.js';
import { type KnownParents } from './pedigree-snapshot.core.js';

/** What changed in a pedigree after a version: the animals with their parents as they are now, in the order of the changes. */
export type LineageNews = { readonly version: bigint; readonly changed: readonly KnownParents[] };

/** A claim on a parent over its time in force. */
export type StoredClaim = {
  readonly role: ParentRole;
  /** The parent, where there is one candidate with certainty. */
  readonly parentId: string | null;
  readonly recordedAt: Date;
  readonly supersededAt: Date | null;
};

// A claim with several candidates, or one that is not certain, leaves the parent unknown to the computations.
const certainParent = (role: ParentRole) => Prisma.sql`(
  SELECT p.parent_id FROM parentage_claim c JOIN parent_candidate p ON p.claim_id = c.id AND p.probability = 1
  WHERE c.child_id = a.id AND c.role = ${role}::parent_role AND c.superseded_at IS NULL)`;

const PARENTS = Prisma.sql`a.id, ${certainParent('sire')} AS sire_id, ${certainParent('dam')} AS dam_id`;

type ParentsRow = { id: string; sire_id: string | null; dam_id: string | null };

const toParents = (row: ParentsRow): KnownParents => ({ id: row.id, sireId: row.sire_id, damId: row.dam_id });

/**
 * Reads the pedigrees without a scope: numbers use all of the lineage, whoever asks. What a viewer may see of an ancestor is
 * decided where it is shown.
 */
@Injectable()
export class LineageReadStore {
  constructor(private readonly database: Database) {}

  /** Version of the taxon's pedigree, read on the primary so that a writer reads their own write; null when it has no animal yet. */
  async findVersion(taxonId: string): Promise<bigint | null> {
    const row = await this.database.client.lineagePopulation.findUnique({
      where: { taxonId },
      select: { version: true },
    });
    return row?.version ?? null;
  }

  /** All animals of the taxon's pedigree and the version they are of. */
  async readAll(taxonId: string): Promise<{ version: bigint; animals: KnownParents[] }> {
    return this.database.client.$transaction(
      async (db) => {
        const population = await db.lineagePopulation.findUnique({ where: { taxonId } });
        const rows = await db.$queryRaw<ParentsRow[]>`
          SELECT a.id, s.parent_id AS sire_id, d.parent_id AS dam_id FROM animal a
          LEFT JOIN (parentage_claim sc JOIN parent_candidate s ON s.claim_id = sc.id AND s.probability = 1)
            ON sc.child_id = a.id AND sc.role = 'sire' AND sc.superseded_at IS NULL
          LEFT JOIN (parentage_claim dc JOIN parent_candidate d ON d.claim_id = dc.id AND d.probability = 1)
            ON dc.child_id = a.id AND dc.role = 'dam' AND dc.superseded_at IS NULL
          WHERE a.taxon_id = ${taxonId}::uuid ORDER BY a.id`;
        return { version: population?.version ?? 0n, animals: rows.map(toParents) };
      },
      // One snapshot of the database for both statements, so that the version says exactly what was read.
      { isolationLevel: 'RepeatableRead', timeout: 30_000 },
    );
  }

  /** The living individuals of a taxon, whoever has them: the reference population of its numbers. */
  async findLiving(taxonId: string): Promise<string[]> {
    const rows = await this.database.client.$queryRaw<{ id: string }[]>`
      SELECT id FROM animal WHERE taxon_id = ${taxonId}::uuid AND kind = 'individual' AND fate = 'alive'`;
    return rows.map((row) => row.id);
  }

  /** What changed after `version`. */
  async readNews(taxonId: string, version: bigint): Promise<LineageNews> {
    return this.database.client.$transaction(
      async (db) => {
        const changes = await db.$queryRaw<{ version: bigint; animal_id: string }[]>`
          SELECT c.version, c.animal_id FROM lineage_change c JOIN lineage_population l ON l.id = c.population_id
          WHERE l.taxon_id = ${taxonId}::uuid AND c.version > ${version} ORDER BY c.version`;
        const ids = [...new Set(changes.map((change) => change.animal_id))];
        const rows = await db.$queryRaw<ParentsRow[]>`SELECT ${PARENTS} FROM animal a WHERE a.id = ANY(${ids}::uuid[])`;
        const parents = new Map(rows.map((row) => [row.id, toParents(row)]));
        return {
          version: changes.at(-1)?.version ?? version,
          changed: ids.flatMap((id) => parents.get(id) ?? []),
        };
      },
      { isolationLevel: 'RepeatableRead', timeout: 30_000 },
    );
  }

  /** Every claim ever made on the parents of each animal. */
  async findClaims(childIds: readonly string[]): Promise<Map<string, StoredClaim[]>> {
    const rows = await this.database.client.$queryRaw<
      { child_id: string; role: ParentRole; parent_id: string | null; recorded_at: Date; superseded_at: Date | null }[]
    >`
      SELECT c.child_id, c.role::text AS role, p.parent_id, c.recorded_at, c.superseded_at
      FROM parentage_claim c LEFT JOIN parent_candidate p ON p.claim_id = c.id AND p.probability = 1
      WHERE c.child_id = ANY(${[...childIds]}::uuid[])`;
    const claims = groupRows(rows, (row) => row.child_id);
    return new Map(
      [...claims].map(([id, group]) => [
        id,
        group.map((row) => ({
          role: row.role,
          parentId: row.parent_id,
          recordedAt: row.recorded_at,
          supersededAt: row.superseded_at,
        })),
      ]),
    );
  }
}
