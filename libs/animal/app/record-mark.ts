import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, refuse, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideFactDay } from '../core/fact-day.core.js';
import { MAX_MARKS, type MarkDetails, type MarkKind } from '../core/mark.core.js';
import { requireAuthority } from '../store/animal-authority.store.js';
import { getForWrite, lockAnimals } from '../store/animal-write.store.js';
import { requireChipTries } from '../store/chip-tries.store.js';
import { reviewMarkConflicts } from '../store/mark-conflict.store.js';
import { countMarks, insertMark } from '../store/mark-write.store.js';
import { markRecorded } from './mark-ledger.js';

export type RecordMarkCommand = MarkDetails & {
  readonly animalId: string;
  readonly kind: MarkKind;
  readonly value: string;
  /** Since when it is valid; null = not known. */
  readonly when: UncertainDay | null;
};

/** Adds a mark to an animal that a keeper of the viewer has or owns. */
@Injectable()
export class RecordMark {
  constructor(private readonly uow: UnitOfWork) {}

  /** Gives the mark's id. NOT_FOUND, FORBIDDEN, NOT_AN_INDIVIDUAL, DAY_IN_FUTURE, FACT_BEFORE_BIRTH, TOO_MANY_MARKS; RATE_LIMITED by `requireChipTries`. */
  async execute(viewer: Viewer, command: RecordMarkCommand): Promise<{ animalId: string; markId: string }> {
    const outcome = z.object({ animalId: z.uuid(), markId: z.uuid() });
    return this.uow.write(viewer, { action: 'animal.record-mark', input: command, outcome }, async (tx) => {
      const { animalId, kind, when } = command;
      await requireChipTries(tx, [kind]);
      await lockAnimals(tx, [animalId]);
      const { keeperId } = await requireAuthority(tx, viewer, animalId);
      const animal = await getForWrite(tx, animalId);
      if (animal.kind === 'lot')
        return refuse('NOT_AN_INDIVIDUAL', 'A lot carries no marks: raise the animal out of it first.');
      if (when !== null) {
        const possible = decideFactDay(when, animal.birth, tx.today);
        if (!possible.ok) return possible;
      }
      if ((await countMarks(tx, animalId)) >= MAX_MARKS)
        return refuse('TOO_MANY_MARKS', `An animal has at most ${MAX_MARKS} marks. Take back those that are mistakes.`);
      const markId = await insertMark(tx, animalId, command, keeperId);
      await tx.ledger.append(markRecorded, {
        subjects: [animalId],
        body: { animalId, markId, keeperId, kind, earliest: when?.earliest ?? null, latest: when?.latest ?? null },
        personal: { value: command.value },
      });
      await reviewMarkConflicts(tx, [animalId]);
      return decide({ animalId, markId });
    });
  }
}
