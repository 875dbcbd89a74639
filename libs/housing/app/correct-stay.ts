import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals, requestOriginRecheck } from '../../animal/index.js';
import { actsFor, type Day, decide, notFound, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideStay } from '../core/placement.core.js';
import { findOwnEnclosure, findStay, firstHeld, staysOf, supersedeStay } from '../store/housing-write.store.js';
import { shownStay } from './settle-animals.js';

export type CorrectStayCommand = {
  readonly stayId: string;
  readonly reason: string;
  /** The animal was not there at all. */
  readonly takeBack: boolean;
  /** Undefined = as it was. */
  readonly from: Day | undefined;
  /** Undefined = as it was; null = it is there still. */
  readonly until: Day | null | undefined;
  readonly enclosureId: string | undefined;
};

const stayCorrected = defineLedgerAction(
  'housing.stay-corrected',
  1,
  z.strictObject({
    stayId: z.uuid(),
    replacedBy: z.uuid().nullable(),
    animalId: z.uuid(),
    enclosureId: z.uuid().nullable(),
    from: z.string().nullable(),
    until: z.string().nullable(),
  }),
);

const outcome = z.object({ stayId: z.uuid().nullable(), animalId: z.uuid(), enclosureId: z.uuid() });

/** Corrects a stay in an own enclosure by a superseding one, or takes it back, with a reason. What was believed before is kept. */
@Injectable()
export class CorrectStay {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a stay in another keeper's enclosure; DAY_IN_FUTURE, STAY_DAYS_REVERSED, PLACED_BEFORE_HELD, PLACEMENT_OVERLAPS. */
  async execute(viewer: Viewer, command: CorrectStayCommand): Promise<z.infer<typeof outcome>> {
    const request = { action: 'housing.correct-stay', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { stayId, reason, takeBack } = command;
      const seen = await findStay(tx, stayId);
      if (seen === null || !actsFor(viewer, seen.keeperId)) throw notFound('stay');
      await lockAnimals(tx, [seen.animalId]);
      const stay = await findStay(tx, stayId);
      if (stay === null) throw notFound('stay');
      const { animalId, keeperId } = stay;
      const enclosure = await findOwnEnclosure(tx, [keeperId], command.enclosureId ?? stay.enclosureId);
      if (enclosure === null) throw notFound('enclosure');
      const corrected = {
        animalId,
        enclosureId: enclosure.id,
        from: command.from ?? stay.from,
        to: command.until === undefined ? stay.to : command.until,
      };
      if (!takeBack) {
        const others = ((await staysOf(tx, [animalId])).get(animalId) ?? []).filter((other) => other.id !== stayId);
        const heldFrom = (await firstHeld(tx, keeperId, [animalId])).get(animalId) ?? null;
        const shown = others.map((other) => shownStay(other, keeperId));
        const possible = decideStay({ ...corrected, heldFrom }, shown, tx.today);
        if (!possible.ok) return possible;
      }
      const replacedBy = await supersedeStay(tx, stayId, takeBack ? null : corrected, reason);
      await tx.ledger.append(stayCorrected, {
        subjects: [animalId, stay.enclosureId],
        body: {
          stayId,
          replacedBy,
          animalId,
          enclosureId: takeBack ? null : corrected.enclosureId,
          from: takeBack ? null : corrected.from,
          until: takeBack ? null : corrected.to,
        },
        personal: { reason },
      });
      await requestOriginRecheck(tx, [animalId]);
      return decide({ stayId: replacedBy, animalId, enclosureId: enclosure.id });
    });
  }
}
