import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  type Certainty,
  CERTAINTIES,
  decideFactDay,
  getForWrite,
  lockAnimals,
  requireAuthority,
  reviewMarkConflicts,
} from '../../animal/index.js';
import { type Day, decide, refuse, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { bookDay } from '../core/whereabouts.core.js';
import { loseFromLot, recordDeath } from '../store/stock-write.store.js';

export type RecordDeathCommand = {
  readonly animalId: string;
  /** The day, or (`when`) the span of days it can have been; today when both are null. */
  readonly on: Day | null;
  readonly when?: UncertainDay | null;
  readonly cause: string | null;
  readonly certainty?: Certainty | null;
  /** How many of a lot died; null for an individual. */
  readonly count: number | null;
};

const died = defineLedgerAction(
  'animal.died',
  1,
  z.strictObject({
    animalId: z.uuid(),
    keeperId: z.uuid(),
    kind: z.enum(['individual', 'lot']),
    count: z.int(),
    on: z.string(),
    certainty: z.enum(CERTAINTIES).optional(),
    earliest: z.string().nullable().optional(),
    latest: z.string().nullable().optional(),
  }),
);

/** Records that an animal, or some of a lot, died. */
@Injectable()
export class RecordDeath {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN unless the viewer's keeper has it, and what `recordDeath` and `loseFromLot` refuse. */
  async execute(viewer: Viewer, command: RecordDeathCommand): Promise<{ animalId: string }> {
    const { animalId } = command;
    const request = { action: 'animal.record-death', input: command, outcome: z.object({ animalId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await lockAnimals(tx, [animalId]);
      const { keeperId } = await requireAuthority(tx, viewer, animalId, true);
      const { kind, birth } = await getForWrite(tx, animalId);
      const when = command.when ?? null;
      const possible = when === null ? null : decideFactDay(when, birth, tx.today);
      if (possible?.ok === false) return possible;
      const on = when === null ? (command.on ?? tx.today) : bookDay(when, tx.today);
      if (kind === 'lot' && command.count === null)
        return refuse('LOT_COUNT_INVALID', 'This record is a lot: say how many of it died.');
      if (kind === 'individual' && command.count !== null && command.count !== 1)
        return refuse('NOT_A_LOT', 'This record is one animal, not a lot.');
      const count = command.count ?? 1;
      const done =
        kind === 'lot'
          ? await loseFromLot(tx, { lotId: animalId, count, on, keeperId })
          : await recordDeath(tx, {
              animalId,
              on,
              keeperId,
              when: when ?? undefined,
              cause: command.cause ?? undefined,
              certainty: command.certainty ?? undefined,
            });
      if (!done.ok) return done;
      await tx.ledger.append(died, {
        subjects: [animalId],
        body: {
          animalId,
          keeperId,
          kind,
          count,
          on,
          ...(command.certainty ? { certainty: command.certainty } : {}),
          ...(when === null ? {} : { earliest: when.earliest, latest: when.latest }),
        },
        ...(command.cause === null ? {} : { personal: { cause: command.cause } }),
      });
      await reviewMarkConflicts(tx, [animalId], 'died');
      return decide({ animalId });
    });
  }
}
