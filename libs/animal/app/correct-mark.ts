import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, invalidInput, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideFactDay } from '../core/fact-day.core.js';
import {
  CHIP_KINDS,
  checkDetails,
  checkMark,
  decideMarkEnd,
  type MarkDetails,
  type MarkKind,
} from '../core/mark.core.js';
import { getForWrite } from '../store/animal-write.store.js';
import { requireMark } from '../store/mark-authority.store.js';
import { requireChipTries } from '../store/chip-tries.store.js';
import { reviewMarkConflicts } from '../store/mark-conflict.store.js';
import { supersedeMark } from '../store/mark-write.store.js';
import { markCorrected } from './mark-ledger.js';

/** What is put right; what is left out (undefined) stays as it was. */
export type CorrectMarkCommand = {
  readonly markId: string;
  readonly reason: string;
  /** The mark was recorded by mistake: it never was on this animal. */
  readonly takeBack: boolean;
  readonly kind?: MarkKind | undefined;
  readonly value?: string | undefined;
  readonly when?: UncertainDay | null | undefined;
  /** Null = it has not ended after all. Another day only for a mark that ended. */
  readonly until?: UncertainDay | null | undefined;
  readonly details: { readonly [K in keyof MarkDetails]?: MarkDetails[K] | undefined };
};

/** Corrects a mark, or takes it back, with a reason. The earlier version stays in the history. */
@Injectable()
export class CorrectMark {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN, INVALID_INPUT, MARK_ENDS_BEFORE_SET, DAY_IN_FUTURE, FACT_BEFORE_BIRTH; RATE_LIMITED by `requireChipTries`. */
  async execute(viewer: Viewer, command: CorrectMarkCommand): Promise<{ animalId: string; markId: string }> {
    const outcome = z.object({ animalId: z.uuid(), markId: z.uuid() });
    return this.uow.write(viewer, { action: 'animal.correct-mark', input: command, outcome }, async (tx) => {
      const { markId, reason, takeBack, details } = command;
      if (command.value !== undefined || command.kind !== undefined || command.until === null)
        await requireChipTries(tx, command.kind === undefined ? CHIP_KINDS : [command.kind]);
      const { mark, keeperId } = await requireMark(tx, viewer, markId);
      const { animalId } = mark;
      const kind = command.kind ?? mark.kind;
      const checked = checkMark(kind, command.value ?? mark.value);
      if (!checked.ok) throw invalidInput([{ path: 'input.value', message: checked.message, remedy: checked.remedy }]);
      const next = {
        kind,
        value: checked.value,
        size: details.size === undefined ? mark.size : details.size,
        fixedView: details.fixedView === undefined ? mark.fixedView : details.fixedView,
        withScale: details.withScale === undefined ? mark.withScale : details.withScale,
        intervalDays: details.intervalDays === undefined ? mark.intervalDays : details.intervalDays,
        when: command.when === undefined ? mark.when : command.when,
        ended: mark.ended,
      };
      const [problem] = checkDetails(kind, next);
      if (problem !== undefined) throw invalidInput([{ ...problem, path: `input.${problem.path}` }]);
      if (command.until !== undefined) {
        if (command.until !== null && mark.ended === null)
          throw invalidInput([
            { path: 'input.until', message: 'This mark has not ended.', remedy: 'End it with `endMark`.' },
          ]);
        next.ended = command.until === null || mark.ended === null ? null : { ...mark.ended, when: command.until };
      }
      const { birth } = await getForWrite(tx, animalId);
      for (const day of [next.when, next.ended?.when ?? null]) {
        const possible = day === null ? null : decideFactDay(day, birth, tx.today);
        if (possible?.ok === false) return possible;
      }
      const inOrder = next.ended === null ? null : decideMarkEnd(next.when, next.ended.when);
      if (inOrder?.ok === false) return inOrder;
      await supersedeMark(tx, mark, takeBack ? null : next, reason, keeperId);
      await tx.ledger.append(markCorrected, {
        subjects: [animalId],
        body: {
          animalId,
          markId,
          keeperId,
          takenBack: takeBack,
          kind,
          earliest: next.when?.earliest ?? null,
          latest: next.when?.latest ?? null,
        },
        personal: { reason, ...(takeBack ? {} : { value: next.value }) },
      });
      await reviewMarkConflicts(tx, [animalId], 'mark_corrected');
      return decide({ animalId, markId });
    });
  }
}
