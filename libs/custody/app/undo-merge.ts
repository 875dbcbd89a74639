import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { findAccess } from '../../access/index.js';
import { lockAnimals, requestOriginRecheck, requireAuthority, reviewMarkConflicts } from '../../animal/index.js';
import { decide, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { findMergeInForce, lockLineage, moveMergedOn, undoMergeRow } from '../../lineage/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { reopenMerged } from '../store/custody-write.store.js';
import { tellUnmerged } from '../store/merge-followers.js';

export type UndoMergeCommand = { readonly mergedId: string; readonly reason: string };

const mergeUndone = defineLedgerAction(
  'animal.merge-undone',
  1,
  z.strictObject({
    mergeId: z.uuid(),
    keptId: z.uuid(),
    mergedId: z.uuid(),
    keeperId: z.uuid(),
    lineageVersion: z.string(),
  }),
);

/**
 * Undoes a merge: the record stands for itself again, with whoever had it, where it was, and with the parents and young it had.
 * What was recorded on the kept one since stays there.
 */
@Injectable()
export class UndoMerge {
  constructor(private readonly uow: UnitOfWork) {}

  /** For whoever has or owns the record kept. NOT_FOUND, FORBIDDEN, NOT_MERGED. */
  async execute(viewer: Viewer, command: UndoMergeCommand): Promise<{ keptId: string; mergedId: string }> {
    const outcome = z.object({ keptId: z.uuid(), mergedId: z.uuid() });
    return this.uow.write(viewer, { action: 'custody.undo-merge', input: command, outcome }, async (tx) => {
      const { mergedId, reason } = command;
      const before = await findMergeInForce(tx, mergedId);
      await lockAnimals(tx, before === null ? [mergedId] : [mergedId, before.keepId]);
      // Read after the lock: somebody else may have undone it, and merged the record into another one.
      const merge = await findMergeInForce(tx, mergedId);
      if (merge === null || merge.id !== before?.id) {
        if (!(await findAccess(tx.db, viewer, [mergedId])).has(mergedId)) throw notFound('animal');
        return refuse('NOT_MERGED', 'This record is not merged into another one, or no longer into the same.', {
          blockers: [{ kind: 'animal', id: mergedId, remedy: 'Read it again.' }],
        });
      }
      const { keepId, taxonId } = merge;
      const { keeperId } = await requireAuthority(tx, viewer, keepId);
      await lockLineage(tx, taxonId);
      await undoMergeRow(tx, { id: merge.id, mergedId, reason, keeperId });
      await reopenMerged(tx, mergedId);
      await tellUnmerged(tx, { keepId, mergedId, mergedAt: merge.recordedAt });
      const version = await moveMergedOn(tx, taxonId, keepId, mergedId);
      await tx.ledger.append(mergeUndone, {
        subjects: [keepId, mergedId],
        body: { mergeId: merge.id, keptId: keepId, mergedId, keeperId, lineageVersion: String(version) },
        personal: { reason },
      });
      await requestOriginRecheck(tx, [keepId, mergedId]);
      await reviewMarkConflicts(tx, [keepId, mergedId]);
      return decide({ keptId: keepId, mergedId });
    });
  }
}
