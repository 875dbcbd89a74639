import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals, requestOriginRecheck, requireAuthority, reviewMarkConflicts } from '../../animal/index.js';
import { decide, DomainError, forbidden, refuse, type Viewer } from '../../kernel/index.js';
import {
  claimWarning,
  decideMerge,
  insertMerge,
  moveMergedOn,
  readMergeKinship,
  readMergeSide,
} from '../../lineage/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { currentCustody, end } from '../store/custody-write.store.js';
import { askMerging } from '../store/merge-followers.js';
import { haveSameOwners, requireUndisputed } from '../store/ownership-write.store.js';

export type MergeRecordsCommand = { readonly keepId: string; readonly mergeId: string; readonly reason: string };

const recordsMerged = defineLedgerAction(
  'animal.records-merged',
  1,
  z.strictObject({
    mergeId: z.uuid(),
    keptId: z.uuid(),
    mergedId: z.uuid(),
    keeperId: z.uuid(),
    on: z.string(),
    lineageVersion: z.string(),
  }),
);

const outcome = z.object({ keepId: z.uuid(), mergeId: z.uuid(), warnings: z.array(claimWarning) });

/**
 * Merges two records that turn out to be of one animal: one is kept, the other ends in its holder's book today and goes on
 * in it. Facts stay where they were recorded; parents of the merged record count where the kept one has none.
 */
@Injectable()
export class MergeRecords {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN unless own keepers have both, RECORD_MERGED, CUSTODY_NOT_OPEN, OWNERSHIP_DISPUTED, MERGE_OTHER_OWNERS, and what `decideMerge` and contexts further down refuse. */
  async execute(viewer: Viewer, command: MergeRecordsCommand): Promise<z.infer<typeof outcome>> {
    return this.uow.write(viewer, { action: 'custody.merge-records', input: command, outcome }, async (tx) => {
      const { keepId, mergeId, reason } = command;
      await lockAnimals(tx, [keepId, mergeId]);
      await requireHolder(tx, viewer, keepId);
      const keeperId = await requireHolder(tx, viewer, mergeId);
      const held = await currentCustody(tx, [keepId, mergeId]);
      const gone = [keepId, mergeId].find((id) => !held.has(id));
      if (gone !== undefined)
        return refuse('CUSTODY_NOT_OPEN', 'Nobody has one of the two any more.', {
          blockers: [{ kind: 'animal', id: gone, remedy: 'Merge records of an animal somebody has.' }],
        });
      const agreed = await requireUndisputed(tx, [keepId, mergeId]);
      if (!agreed.ok) return agreed;
      // Whoever keeps what others own could otherwise end its record in one of their own.
      if (!(await haveSameOwners(tx, keepId, mergeId)))
        return refuse('MERGE_OTHER_OWNERS', 'The two are not the property of the same owners in the same shares.', {
          blockers: [
            { kind: 'animal', id: mergeId, remedy: 'Let its owners hand it over to you, or you to them, first.' },
          ],
        });
      const [keep, merge] = [await readMergeSide(tx, keepId), await readMergeSide(tx, mergeId)];
      const possible = decideMerge(keep, merge, await readMergeKinship(tx, keep.taxonId, keepId, mergeId));
      if (!possible.ok) return possible;
      const free = await askMerging(tx, { keepId, mergeId, on: tx.today });
      if (!free.ok) return free;
      const ended = await end(tx, { animalId: mergeId, on: tx.today, leftBy: 'merged', ref: keepId });
      if (!ended.ok) return ended;
      const id = await insertMerge(tx, { keepId, mergeId, because: reason, keeperId });
      const version = await moveMergedOn(tx, keep.taxonId, keepId, mergeId);
      await tx.ledger.append(recordsMerged, {
        subjects: [keepId, mergeId],
        body: {
          mergeId: id,
          keptId: keepId,
          mergedId: mergeId,
          keeperId,
          on: tx.today,
          lineageVersion: String(version),
        },
        personal: { reason },
      });
      await requestOriginRecheck(tx, [keepId, mergeId]);
      await reviewMarkConflicts(tx, [keepId, mergeId], 'merged');
      return decide({ keepId, mergeId, warnings: possible.value });
    });
  }
}

/** The own keeper who has the animal; a viewer who sees it and does not have it is told what to do first. */
async function requireHolder(tx: Tx, viewer: Viewer, animalId: string): Promise<string> {
  try {
    return (await requireAuthority(tx, viewer, animalId, true)).keeperId;
  } catch (error) {
    if (!(error instanceof DomainError) || error.code !== 'FORBIDDEN') throw error;
    throw forbidden('Both records must be with keepers you act for. Let the other one be handed over to you first.');
  }
}
