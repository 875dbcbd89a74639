import { fromDateColumn } from '../../access/index.js';
import { type Prisma, type Tx } from '../../platform/prisma/index.js';
import { type LotChangeVersion, type LotCorrected } from '../core/lot-correction.core.js';
import { lotChangeRow } from './animal-write.store.js';
import { moveCount } from './lot-write.store.js';

/** A change of a lot's count, if there is one of this id. */
export async function findLotChange(tx: Tx, id: string): Promise<(LotChangeVersion & { lotId: string }) | null> {
  const row = await tx.db.lotChange.findUnique({ where: { id } });
  return row === null ? null : { ...toVersion(row), lotId: row.lotId };
}

/** All versions of the changes of a locked lot's count. */
export async function readLotChanges(tx: Tx, lotId: string): Promise<LotChangeVersion[]> {
  return (await tx.db.lotChange.findMany({ where: { lotId } })).map(toVersion);
}

/**
 * Writes what `decideLotCorrection` came to, of a locked lot. A recount that takes up the difference stays the words of whoever
 * counted.
 */
export async function reviseLotChanges(
  tx: Tx,
  { lotId, keeperId, reason }: { readonly lotId: string; readonly keeperId: string; readonly reason: string },
  { revisions, left }: LotCorrected,
): Promise<void> {
  for (const [i, { id, instead }] of revisions.entries()) {
    const old = await tx.db.lotChange.findUniqueOrThrow({ where: { id } });
    const counted = i === 0 ? {} : { recordedBy: old.recordedBy };
    const row =
      instead === null
        ? null
        : {
            ...lotChangeRow(tx, { lotId, keeperId, estimated: old.estimated, ...instead }),
            ...counted,
            reason: old.reason,
          };
    if (row !== null) await tx.db.lotChange.create({ data: row });
    await tx.db.lotChange.update({
      where: { id, supersededAt: null },
      data: {
        supersededAt: tx.now,
        supersededBy: row?.id ?? null,
        supersededBecause: i === 0 ? reason : 'An earlier change of the count was corrected.',
      },
    });
  }
  await moveCount(tx, lotId, left);
}

function toVersion(row: Prisma.LotChangeGetPayload<object>): LotChangeVersion {
  const { id, cause, delta, happenedOn, counterpartId, recordedAt, supersededAt, supersededBy } = row;
  return { id, cause, delta, on: fromDateColumn(happenedOn), counterpartId, recordedAt, supersededAt, supersededBy };
}
