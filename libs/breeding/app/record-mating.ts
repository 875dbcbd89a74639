import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { getForWrite, lockAnimals, requestOriginRecheck, requireAuthority } from '../../animal/index.js';
import { decide, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { getVisibleParent, PARENTAGE_BASES, type ParentageBasis } from '../../lineage/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideMating, KNOWN_ANSWERS, type KnownAnswer } from '../core/breeding.core.js';
import { insertMating } from '../store/breeding-write.store.js';

export type RecordMatingCommand = {
  readonly damId: string;
  readonly sireId: string | null;
  readonly basis: ParentageBasis;
  readonly controlled: KnownAnswer;
  readonly when: UncertainDay | null;
};

const matingRecorded = defineLedgerAction(
  'breeding.mating-recorded',
  1,
  z.strictObject({
    matingId: z.uuid(),
    damId: z.uuid(),
    sireId: z.uuid().nullable(),
    keeperId: z.uuid(),
    basis: z.enum(PARENTAGE_BASES),
    controlled: z.enum(KNOWN_ANSWERS),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
  }),
);

/** Records a mating, or a stay together in which one could happen, of a dam that a keeper of the viewer has or owns. */
@Injectable()
export class RecordMating {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND (dam or sire not visible), FORBIDDEN, BREEDING_*, DAY_IN_FUTURE, FACT_BEFORE_BIRTH. */
  async execute(viewer: Viewer, command: RecordMatingCommand): Promise<{ matingId: string }> {
    const request = { action: 'breeding.record-mating', input: command, outcome: z.object({ matingId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { damId, sireId, basis, controlled, when } = command;
      await lockAnimals(tx, sireId === null ? [damId] : [damId, sireId]);
      const { keeperId } = await requireAuthority(tx, viewer, damId);
      const dam = await getForWrite(tx, damId);
      const sire = sireId === null ? null : await getVisibleParent(tx, viewer, sireId);
      const possible = decideMating({ dam, sire, when }, tx.today);
      if (!possible.ok) return possible;
      const matingId = await insertMating(tx, { damId, sireId, basis, controlled, when, keeperId });
      await tx.ledger.append(matingRecorded, {
        subjects: [damId, ...(sireId === null ? [] : [sireId])],
        body: {
          matingId,
          damId,
          sireId,
          keeperId,
          basis,
          controlled,
          earliest: when?.earliest ?? null,
          latest: when?.latest ?? null,
        },
      });
      await requestOriginRecheck(tx, [damId]);
      return decide({ matingId });
    });
  }
}
