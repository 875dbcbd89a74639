import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals, requestOriginRecheck, requireAuthority } from '../animal/index.js';
import { currentCustody } from '../custody/index.js';
import { type Day, decide, notFound, type Viewer } from '../kernel/index.js';
import { defineLedgerAction } from '../platform/ledger/index.js';
import { UnitOfWork } from '../platform/prisma/index.js';
import { beginStay, endStay, findOwnEnclosure, openStays } from './housing.store.js';
import { decidePlacement } from './placement.core.js';

export type PlaceAnimalsCommand = {
  readonly enclosureId: string;
  readonly animalIds: readonly string[];
  /** Today when null. */
  readonly from: Day | null;
};

const animalsPlaced = defineLedgerAction(
  'housing.animals-placed',
  1,
  z.strictObject({ enclosureId: z.uuid(), keeperId: z.uuid(), animalIds: z.array(z.uuid()), from: z.string() }),
);

/** Places animals a keeper has in one of that keeper's enclosures; the stays before end the same day. */
@Injectable()
export class PlaceAnimals {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN, DAY_IN_FUTURE, PLACED_BEFORE_HELD, PLACEMENT_DAY_TOO_EARLY, PLACEMENT_OVERLAPS. */
  async execute(viewer: Viewer, command: PlaceAnimalsCommand): Promise<{ enclosureId: string }> {
    const request = { action: 'housing.place-animals', input: command, outcome: z.object({ enclosureId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { enclosureId } = command;
      const animalIds = [...new Set(command.animalIds)].toSorted();
      const keepers = viewer.keepers.map((keeper) => keeper.keeperId);
      const enclosure = await findOwnEnclosure(tx, keepers, enclosureId);
      if (enclosure === null) throw notFound('enclosure');
      const from = command.from ?? tx.today;
      await lockAnimals(tx, animalIds);
      for (const animalId of animalIds) await requireAuthority(tx, viewer, animalId, true);
      const [held, stays] = [await currentCustody(tx, animalIds), await openStays(tx, animalIds)];
      for (const animalId of animalIds) {
        const custody = held.get(animalId);
        const stay = stays.get(animalId);
        const own = custody?.holder.kind === 'keeper' && custody.holder.keeperId === enclosure.keeperId;
        const possible = decidePlacement(
          {
            animalId,
            heldFrom: custody !== undefined && own ? custody.from : null,
            stay: stay === undefined ? null : { from: stay.from, ownEnclosure: stay.keeperId === enclosure.keeperId },
          },
          from,
          tx.today,
        );
        if (!possible.ok) return possible;
        if (stay !== undefined && possible.value.endsOn !== null) await endStay(tx, stay, possible.value.endsOn);
        await beginStay(tx, { animalId, enclosureId, from });
      }
      await tx.ledger.append(animalsPlaced, {
        subjects: [enclosureId, ...animalIds],
        body: { enclosureId, keeperId: enclosure.keeperId, animalIds, from },
      });
      await requestOriginRecheck(tx, animalIds);
      return decide({ enclosureId });
    });
  }
}
