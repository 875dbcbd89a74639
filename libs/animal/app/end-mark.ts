import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, exactDay, refuse, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideFactDay } from '../core/fact-day.core.js';
import { decideMarkEnd, type MarkEndCause } from '../core/mark.core.js';
import { getForWrite } from '../store/animal-write.store.js';
import { requireMark } from '../store/mark-authority.store.js';
import { reviewMarkConflicts } from '../store/mark-conflict.store.js';
import { supersedeMark } from '../store/mark-write.store.js';
import { markEnded } from './mark-ledger.js';

export type EndMarkCommand = {
  readonly markId: string;
  /** Today when null. */
  readonly until: UncertainDay | null;
  readonly cause: MarkEndCause;
  readonly note: string | null;
};

/** Ends a mark: the chip failed, the tail has regrown, the pattern has faded. What it was stays in the history. */
@Injectable()
export class EndMark {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN, MARK_ENDED, MARK_ENDS_BEFORE_SET, DAY_IN_FUTURE, FACT_BEFORE_BIRTH. */
  async execute(viewer: Viewer, command: EndMarkCommand): Promise<{ animalId: string; markId: string }> {
    const outcome = z.object({ animalId: z.uuid(), markId: z.uuid() });
    return this.uow.write(viewer, { action: 'animal.end-mark', input: command, outcome }, async (tx) => {
      const { markId, cause, note } = command;
      const { mark, keeperId } = await requireMark(tx, viewer, markId);
      const { animalId } = mark;
      if (mark.ended !== null)
        return refuse('MARK_ENDED', `This mark ended already (${mark.ended.when.edtf}). Correct that if it is wrong.`);
      const until = command.until ?? exactDay(tx.today);
      const possible = decideFactDay(until, (await getForWrite(tx, animalId)).birth, tx.today);
      if (!possible.ok) return possible;
      const inOrder = decideMarkEnd(mark.when, until);
      if (!inOrder.ok) return inOrder;
      await supersedeMark(tx, mark, { ...mark, ended: { when: until, cause } }, note ?? 'The mark ended.', keeperId);
      await tx.ledger.append(markEnded, {
        subjects: [animalId],
        body: { animalId, markId, keeperId, cause, earliest: until.earliest, latest: until.latest },
        ...(note === null ? {} : { personal: { note } }),
      });
      await reviewMarkConflicts(tx, [animalId], 'mark_ended');
      return decide({ animalId, markId });
    });
  }
}
