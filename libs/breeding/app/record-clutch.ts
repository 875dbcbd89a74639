import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { getForWrite, lockAnimals, requireAuthority } from '../../animal/index.js';
import { type Day, decide, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideClutch, KNOWN_ANSWERS, type KnownAnswer } from '../core/breeding.core.js';
import { insertClutch } from '../store/breeding-write.store.js';

export type RecordClutchCommand = {
  readonly damId: string;
  readonly laid: UncertainDay | null;
  readonly foundOn: Day | null;
  readonly eggCount: number | null;
  readonly controlled: KnownAnswer;
};

const clutchRecorded = defineLedgerAction(
  'breeding.clutch-recorded',
  1,
  z.strictObject({
    clutchId: z.uuid(),
    damId: z.uuid(),
    keeperId: z.uuid(),
    controlled: z.enum(KNOWN_ANSWERS),
    eggCount: z.int().nullable(),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
    foundOn: z.string().nullable(),
  }),
);

/** Records a clutch, or young born at one time, of a dam that a keeper of the viewer has or owns. */
@Injectable()
export class RecordClutch {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN, BREEDING_*, CLUTCH_FOUND_BEFORE_LAID, DAY_IN_FUTURE, FACT_BEFORE_BIRTH. */
  async execute(viewer: Viewer, command: RecordClutchCommand): Promise<{ clutchId: string }> {
    const request = { action: 'breeding.record-clutch', input: command, outcome: z.object({ clutchId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { damId, laid, foundOn, eggCount, controlled } = command;
      await lockAnimals(tx, [damId]);
      const { keeperId } = await requireAuthority(tx, viewer, damId);
      const possible = decideClutch({ dam: await getForWrite(tx, damId), laid, foundOn }, tx.today);
      if (!possible.ok) return possible;
      const clutchId = await insertClutch(tx, { damId, eggCount, controlled, laid, foundOn, keeperId });
      await tx.ledger.append(clutchRecorded, {
        subjects: [damId],
        body: {
          clutchId,
          damId,
          keeperId,
          controlled,
          eggCount,
          earliest: laid?.earliest ?? null,
          latest: laid?.latest ?? null,
          foundOn,
        },
      });
      return decide({ clutchId });
    });
  }
}
