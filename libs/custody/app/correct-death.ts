import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  type Certainty,
  CERTAINTIES,
  decideFactDay,
  FATES,
  getForWrite,
  lockAnimals,
  requireAuthority,
  requestOriginRecheck,
  reviewMarkConflicts,
} from '../../animal/index.js';
import { decide, exactDay, refuse, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { bookDay } from '../core/whereabouts.core.js';
import { correctDeathDay } from '../store/custody-write.store.js';
import { reviseDeath, takeDeathBack } from '../store/death-write.store.js';

export type CorrectDeathCommand = {
  readonly animalId: string;
  readonly reason: string;
  /** It lives after all, or what is put right of the death; what is left out (undefined) stays as it was. */
  readonly alive: boolean;
  readonly when?: UncertainDay | undefined;
  readonly cause?: string | null | undefined;
  readonly certainty?: Certainty | null | undefined;
};

const deathCorrected = defineLedgerAction(
  'animal.death-corrected',
  2,
  z.strictObject({
    animalId: z.uuid(),
    keeperId: z.uuid(),
    takenBack: z.boolean(),
    fate: z.enum(FATES),
    /** The day on which custody ended; null where it goes on, or the day was not touched. */
    on: z.iso.date().nullable(),
    certainty: z.enum(CERTAINTIES).nullable(),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
  }),
);

/** Corrects day, cause or certainty of a death, or takes it back: the record is as it was before. */
@Injectable()
export class CorrectDeath {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN, NOT_AN_INDIVIDUAL, ANIMAL_NOT_DEAD, DAY_IN_FUTURE, FACT_BEFORE_BIRTH, CUSTODY_DAY_TOO_EARLY. */
  async execute(viewer: Viewer, command: CorrectDeathCommand): Promise<{ animalId: string }> {
    const request = { action: 'animal.correct-death', input: command, outcome: z.object({ animalId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { animalId, reason } = command;
      await lockAnimals(tx, [animalId]);
      const { keeperId } = await requireAuthority(tx, viewer, animalId, true);
      const animal = await getForWrite(tx, animalId);
      if (animal.kind === 'lot')
        return refuse('NOT_AN_INDIVIDUAL', 'This record is a lot: count it anew with `recountLot` instead.');
      if (animal.fate !== 'dead') return refuse('ANIMAL_NOT_DEAD', 'The animal is not recorded as dead.');
      if (command.when !== undefined) {
        const possible = decideFactDay(command.when, animal.birth, tx.today);
        if (!possible.ok) return possible;
      }
      const on = command.alive || command.when === undefined ? null : bookDay(command.when, tx.today);
      const moved =
        command.alive || command.when !== undefined ? await correctDeathDay(tx, animalId, on) : decide(null);
      if (!moved.ok) return moved;
      const now = command.alive
        ? await takeDeathBack(tx, animalId, keeperId, reason)
        : await reviseDeath(tx, animalId, keeperId, command, exactDay(tx.today));
      await tx.ledger.append(deathCorrected, {
        subjects: [animalId],
        body: {
          animalId,
          keeperId,
          takenBack: command.alive,
          fate: now.body.fate,
          on,
          certainty: now.body.certainty ?? null,
          earliest: now.when?.earliest ?? null,
          latest: now.when?.latest ?? null,
        },
        personal: { reason, ...(now.body.cause === undefined ? {} : { cause: now.body.cause }) },
      });
      await requestOriginRecheck(tx, [animalId]);
      await reviewMarkConflicts(tx, [animalId], 'fate_changed');
      return decide({ animalId });
    });
  }
}
