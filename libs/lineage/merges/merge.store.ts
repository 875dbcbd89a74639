import { v7 as uuid } from 'uuid';
import { fromDateColumnOrNull } from '../../access/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { lockLineage, moveLineageOn, readAncestry } from '../claims/lineage-write.store.js';
import { type MergeKinship, type MergeSide } from './merge.core.js';
import { readClaimsInForce } from '../claims/parent-facts.store.js';
import { ancestryPath } from '../claims/parentage.core.js';

type Row = {
  id: string;
  kind: 'individual' | 'lot';
  taxon_id: string;
  line_id: string | null;
  sex: MergeSide['sex'];
  birth_earliest: Date | null;
  birth_latest: Date | null;
  has_merged: boolean;
  open_transfer_id: string | null;
  quarantine_group_id: string | null;
  enclosure_id: string | null;
};

/**
 * What decides about merging a locked record. Transfers, quarantines and places belong to contexts above this one; whether
 * the record is in one now is all that is asked of them, in the transaction in which it must hold.
 */
export async function readMergeSide(tx: Tx, animalId: string): Promise<MergeSide> {
  const [row] = await tx.db.$queryRaw<Row[]>`
    SELECT a.id, a.kind::text AS kind, a.taxon_id, a.line_id, a.sex::text AS sex, a.birth_earliest, a.birth_latest,
           EXISTS (SELECT 1 FROM animal m WHERE m.merged_into_id = a.id) AS has_merged,
           (SELECT i.transfer_id FROM transfer_item i WHERE i.animal_id = a.id AND i.open LIMIT 1) AS open_transfer_id,
           (SELECT q.group_id FROM quarantine_entry q WHERE q.animal_id = a.id AND q.left_on IS NULL LIMIT 1) AS quarantine_group_id,
           (SELECT p.enclosure_id FROM placement p JOIN enclosure e ON e.id = p.enclosure_id
            JOIN custody c ON c.animal_id = a.id AND c.keeper_id = e.keeper_id AND c.superseded_at IS NULL AND c.valid_to IS NULL
            WHERE p.animal_id = a.id AND p.superseded_at IS NULL AND p.valid_to IS NULL LIMIT 1) AS enclosure_id
    FROM animal a WHERE a.id = ${animalId}::uuid`;
  if (row === undefined) throw new Error('A locked animal is gone.');
  return {
    id: row.id,
    kind: row.kind,
    taxonId: row.taxon_id,
    lineId: row.line_id,
    sex: row.sex,
    birth: { earliest: fromDateColumnOrNull(row.birth_earliest), latest: fromDateColumnOrNull(row.birth_latest) },
    claims: (await readClaimsInForce(tx, [row.id])).get(row.id) ?? [],
    hasMerged: row.has_merged,
    openTransferId: row.open_transfer_id,
    quarantineGroupId: row.quarantine_group_id,
    enclosureId: row.enclosure_id,
  };
}

/** How two records of one taxon stand to each other. Locks the pedigree, so that it stays so until the transaction ends. */
export async function readMergeKinship(
  tx: Tx,
  taxonId: string,
  keepId: string,
  mergeId: string,
): Promise<MergeKinship> {
  await lockLineage(tx, taxonId);
  const parents = await readAncestry(tx, keepId, mergeId);
  const parentsOf = (id: string): readonly string[] => parents.get(id) ?? [];
  const inLine = ancestryPath(keepId, mergeId, parentsOf) ?? ancestryPath(mergeId, keepId, parentsOf);
  // Both stand for every record merged into them.
  const [child] = await tx.db.$queryRaw<{ child_id: string }[]>`
    SELECT c.child_id FROM parentage_claim c
    JOIN parent_candidate p ON p.claim_id = c.id JOIN animal a ON a.id = p.parent_id
    WHERE c.superseded_at IS NULL AND coalesce(a.merged_into_id, a.id) IN (${keepId}::uuid, ${mergeId}::uuid)
    GROUP BY c.child_id HAVING count(DISTINCT c.role) > 1 AND count(DISTINCT coalesce(a.merged_into_id, a.id)) > 1
    ORDER BY c.child_id LIMIT 1`;
  return { inLine: inLine !== null, commonChildId: child?.child_id ?? null };
}

/** Records that one locked record goes on as the other. Gives the id of the merge; a race hits `record_merge_one_in_force`. */
export async function insertMerge(
  tx: Tx,
  merge: { readonly keepId: string; readonly mergeId: string; readonly because: string; readonly keeperId: string },
): Promise<string> {
  const { keepId, mergeId: mergedId, because, keeperId } = merge;
  const id = uuid();
  await tx.db.recordMerge.create({
    data: { id, keepId, mergedId, because, recordedAt: tx.now, recordedBy: tx.actorId ?? keeperId },
  });
  await tx.db.animal.update({
    where: { id: mergedId },
    data: { mergedIntoId: keepId, version: { increment: 1 } },
  });
  return id;
}

/** The merge in force of a record, with the taxon of both; null where it was not merged or the merge was undone. */
export async function findMergeInForce(
  tx: Tx,
  mergedId: string,
): Promise<{
  readonly id: string;
  readonly keepId: string;
  readonly taxonId: string;
  readonly recordedAt: Date;
} | null> {
  const row = await tx.db.recordMerge.findFirst({
    where: { mergedId, supersededAt: null },
    select: { id: true, keepId: true, recordedAt: true, keep: { select: { taxonId: true } } },
  });
  if (row === null) return null;
  const { id, keepId, recordedAt, keep } = row;
  return { id, keepId, recordedAt, taxonId: keep.taxonId };
}

/** Takes a merge back: the record stands for itself again. */
export async function undoMergeRow(
  tx: Tx,
  merge: { readonly id: string; readonly mergedId: string; readonly reason: string; readonly keeperId: string },
): Promise<void> {
  await tx.db.recordMerge.update({
    where: { id: merge.id },
    data: { supersededAt: tx.now, supersededBy: tx.actorId ?? merge.keeperId, reason: merge.reason },
  });
  await tx.db.animal.update({
    where: { id: merge.mergedId },
    data: { mergedIntoId: null, version: { increment: 1 } },
  });
}

/** Moves the pedigree on after a merge or its undoing: both records, and every animal that names one of them as a parent, are read anew. */
export async function moveMergedOn(tx: Tx, taxonId: string, keepId: string, mergedId: string): Promise<bigint> {
  const rows = await tx.db.$queryRaw<{ child_id: string }[]>`
    SELECT DISTINCT c.child_id FROM parentage_claim c JOIN parent_candidate p ON p.claim_id = c.id
    WHERE c.superseded_at IS NULL AND p.parent_id IN (${keepId}::uuid, ${mergedId}::uuid) ORDER BY c.child_id`;
  const ids = [keepId, mergedId, ...rows.map((row) => row.child_id)];
  return moveLineageOn(
    tx,
    taxonId,
    ids.map((animalId) => ({ animalId, claimId: null })),
  );
}
