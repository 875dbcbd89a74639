import { Injectable } from '@nestjs/common';
import { Database } from '../../platform/prisma/index.js';
import { type ParentRole } from '../claims/parentage.core.js';
import { type PedigreeClaim } from '../pedigree/pedigree-builder.core.js';

type Row = {
  child_id: string;
  role: ParentRole;
  without_sire: boolean;
  parent_id: string | null;
  probability: string | null;
};

/** Reads descendants as they were recorded at a past moment, without a scope: who is shown is decided where it is shown. */
@Injectable()
export class DescendantStore {
  constructor(private readonly database: Database) {}

  /** The claims in force at a moment on the parents of every descendant known then, over some generations. One statement. */
  async findClaimsAt(animalId: string, at: Date, generations: number): Promise<PedigreeClaim[]> {
    const rows = await this.database.client.$queryRaw<Row[]>`
      WITH RECURSIVE then_known AS NOT MATERIALIZED (
        SELECT c.id, c.child_id, c.role, c.without_sire FROM parentage_claim c
        WHERE c.recorded_at <= ${at} AND (c.superseded_at IS NULL OR c.superseded_at > ${at})
      ), down (id, generation) AS (
        SELECT ${animalId}::uuid, 0
        UNION
        SELECT c.child_id, d.generation + 1 FROM down d
        JOIN parent_candidate p ON p.parent_id = d.id JOIN then_known c ON c.id = p.claim_id
        WHERE d.generation < ${generations}
      )
      SELECT c.child_id, c.role::text AS role, c.without_sire, p.parent_id, p.probability::text AS probability
      FROM (SELECT DISTINCT id FROM down WHERE generation > 0) d
      JOIN then_known c ON c.child_id = d.id LEFT JOIN parent_candidate p ON p.claim_id = c.id`;
    return rows.map((row) => ({
      childId: row.child_id,
      role: row.role,
      withoutSire: row.without_sire,
      parentId: row.parent_id,
      probability: Number(row.probability ?? 1),
    }));
  }
}
