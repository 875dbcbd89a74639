import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals } from '../../animal/index.js';
import { type Day, decide, notFound, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type HousingWarning } from '../core/placement.core.js';
import { findOwnEnclosure } from '../store/housing-write.store.js';
import { settleAnimals } from './settle-animals.js';

export type PlaceAnimalsCommand = {
  readonly enclosureId: string;
  readonly animalIds: readonly string[];
  /** Today when null. */
  readonly from: Day | null;
  /** The day on which they left again, for a stay that is over; null or left out = they are there still. */
  readonly until?: Day | null;
};

const animalsPlaced = defineLedgerAction(
  'housing.animals-placed',
  2,
  z.strictObject({
    enclosureId: z.uuid(),
    keeperId: z.uuid(),
    animalIds: z.array(z.uuid()),
    from: z.string(),
    until: z.string().nullable(),
  }),
);

export const housingWarnings = z.array(z.object({ code: z.literal('QUARANTINE_MIXED'), message: z.string() }));

const outcome = z.object({ enclosureId: z.uuid(), warnings: housingWarnings });

/** Places animals a keeper has in one of that keeper's enclosures; the stays before end the same day. */
@Injectable()
export class PlaceAnimals {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN, DAY_IN_FUTURE, STAY_DAYS_REVERSED, PLACED_BEFORE_HELD, PLACEMENT_DAY_TOO_EARLY, PLACEMENT_OVERLAPS. */
  async execute(
    viewer: Viewer,
    command: PlaceAnimalsCommand,
  ): Promise<{ enclosureId: string; warnings: HousingWarning[] }> {
    const request = { action: 'housing.place-animals', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { enclosureId } = command;
      const animalIds = [...new Set(command.animalIds)].toSorted();
      const keepers = viewer.keepers.map((keeper) => keeper.keeperId);
      const enclosure = await findOwnEnclosure(tx, keepers, enclosureId);
      if (enclosure === null) throw notFound('enclosure');
      const [from, to] = [command.from ?? tx.today, command.until ?? null];
      await lockAnimals(tx, animalIds);
      const settled = await settleAnimals(tx, viewer, { animalIds, enclosure, from, to });
      if (!settled.ok) return settled;
      await tx.ledger.append(animalsPlaced, {
        subjects: [enclosureId, ...animalIds],
        body: { enclosureId, keeperId: enclosure.keeperId, animalIds, from, until: to },
      });
      return decide({ enclosureId, warnings: settled.value });
    });
  }
}
