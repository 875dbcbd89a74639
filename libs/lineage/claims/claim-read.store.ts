import { Injectable } from '@nestjs/common';
import { fromDateColumnOrNull } from '../../access/index.js';
import { type When } from '../../animal/index.js';
import { Database } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { type KeptCandidate, type RecordedClaim } from './claims-shown.core.js';

/** A claim with all that is recorded of it. */
export type FullClaim = RecordedClaim & {
  readonly when: When | null;
  readonly evidence: string | null;
  readonly reason: string | null;
};

type Row = {
  root_id: string;
  id: string;
  child_id: string;
  role: FullClaim['role'];
  basis: FullClaim['basis'];
  without_sire: boolean;
  edtf: string | null;
  earliest: Date | null;
  latest: Date | null;
  evidence: string | null;
  recorded_at: Date;
  superseded_at: Date | null;
  reason: string | null;
  candidates: KeptCandidate[];
};

/** Reads claims and merges without a scope: what a viewer may see of a parent is decided where it is shown. */
@Injectable()
export class ClaimReadStore {
  constructor(private readonly database: Database) {}

  /** Every claim ever made on the parents of each animal, and of each record merged into it, in the order they were recorded. */
  async findAll(animalIds: readonly string[]): Promise<Map<string, FullClaim[]>> {
    const ids = [...animalIds];
    const rows = await this.database.client.$queryRaw<Row[]>`
      SELECT r.root_id, c.id, c.child_id, c.role::text AS role, c.basis::text AS basis, c.without_sire, c.edtf, c.earliest, c.latest,
             c.evidence, c.recorded_at, c.superseded_at, c.reason, k.candidates
      FROM (SELECT id AS root_id, id FROM unnest(${ids}::uuid[]) AS own (id)
            UNION ALL SELECT merged_into_id, id FROM animal WHERE merged_into_id = ANY(${ids}::uuid[])) r
      JOIN parentage_claim c ON c.child_id = r.id
      CROSS JOIN LATERAL (
        SELECT coalesce(jsonb_agg(jsonb_build_object('parentId', p.id, 'keptId', coalesce(p.merged_into_id, p.id),
                                                     'probability', q.probability) ORDER BY p.id), '[]') AS candidates
        FROM parent_candidate q JOIN animal p ON p.id = q.parent_id WHERE q.claim_id = c.id) k
      ORDER BY c.recorded_at, c.id`;
    const claims = groupRows(rows, (row) => row.root_id);
    return new Map([...claims].map(([id, group]) => [id, group.map(toClaim)]));
  }

  /** The records merged into each animal, by the id of the one kept. */
  async findMergedRecords(animalIds: readonly string[]): Promise<Map<string, string[]>> {
    const rows = await this.database.client.animal.findMany({
      where: { mergedIntoId: { in: [...animalIds] } },
      select: { id: true, mergedIntoId: true },
      orderBy: { id: 'asc' },
    });
    const records = groupRows(rows, (row) => row.mergedIntoId ?? '');
    return new Map([...records].map(([id, group]) => [id, group.map((row) => row.id)]));
  }
}

function toClaim(row: Row): FullClaim {
  return {
    id: row.id,
    ownerId: row.child_id,
    role: row.role,
    basis: row.basis,
    withoutSire: row.without_sire,
    candidates: row.candidates,
    when:
      row.edtf === null
        ? null
        : {
            edtf: row.edtf,
            earliest: fromDateColumnOrNull(row.earliest),
            latest: fromDateColumnOrNull(row.latest),
          },
    evidence: row.evidence,
    recordedAt: row.recorded_at,
    supersededAt: row.superseded_at,
    reason: row.reason,
  };
}
