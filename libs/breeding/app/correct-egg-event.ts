import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { findOwnEnclosure } from '../../housing/index.js';
import { actsFor, decide, NO_ID, notFound, refuse, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type Candling, decideEggEvents } from '../core/egg.core.js';
import { youngByEgg } from '../store/breeding-write.store.js';
import { findClutch, lockClutch } from '../store/clutch.store.js';
import { eggEventsOf, findEggEvent, readEggs, supersedeEggEvent } from '../store/egg.store.js';

export type CorrectEggEventCommand = {
  readonly eventId: string;
  readonly reason: string;
  /** It did not happen after all. */
  readonly takeBack: boolean;
  /** Undefined = as it was. */
  readonly when: UncertainDay | null | undefined;
  readonly enclosureId: string | null | undefined;
  readonly incubator: string | null | undefined;
  readonly celsius: number | null | undefined;
  readonly candling: Candling | undefined;
};

const eggEventCorrected = defineLedgerAction(
  'breeding.egg-event-corrected',
  1,
  z.strictObject({
    clutchId: z.uuid(),
    eventId: z.uuid(),
    replacedBy: z.uuid().nullable(),
    earliest: z.string().nullable().optional(),
    latest: z.string().nullable().optional(),
  }),
);

const outcome = z.object({ clutchId: z.uuid(), eventId: z.uuid().nullable() });
const ANY = { earliest: null, latest: null };

/** Corrects or takes back what was recorded of eggs, with a reason; what was believed before is kept. */
@Injectable()
export class CorrectEggEvent {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND; EGG_EVENT_OUT_OF_ORDER, EGG_EVENT_BEFORE_LAID, EGG_HAS_YOUNG, CANDLING_WITHOUT_CANDLING, DAY_IN_FUTURE. */
  async execute(viewer: Viewer, command: CorrectEggEventCommand): Promise<z.infer<typeof outcome>> {
    const request = { action: 'breeding.correct-egg-event', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const seen = await findEggEvent(tx, command.eventId);
      const named = await findClutch(tx.db, seen?.clutchId ?? NO_ID);
      // Whoever recorded it corrects it, also after the eggs went on: it is a fact of their days.
      const keeperId = seen?.keeperId ?? named?.keeperId ?? null;
      if (seen === null || named === null || !actsFor(viewer, keeperId)) throw notFound('egg event');
      const clutch = await lockClutch(tx, named.originalId);
      const event = await findEggEvent(tx, command.eventId);
      if (clutch === null || event === null) throw notFound('egg event');
      if (command.enclosureId && (await findOwnEnclosure(tx, [keeperId ?? ''], command.enclosureId)) === null)
        throw notFound('enclosure');
      if (command.candling !== undefined && event.kind !== 'candled')
        return refuse('CANDLING_WITHOUT_CANDLING', 'Only a candling has a result.');
      const young = await youngByEgg(tx, clutch.originalId);
      if (command.takeBack && event.kind === 'hatched' && (young.get(event.eggId) ?? 0) > 0)
        return refuse('EGG_HAS_YOUNG', 'Young are recorded from this egg. Take their hatching back first.');
      const corrected = {
        clutchId: event.clutchId,
        eggId: event.eggId,
        keeperId: event.keeperId,
        kind: event.kind,
        when: command.when === undefined ? event.written : command.when,
        enclosureId: command.enclosureId === undefined ? event.enclosureId : command.enclosureId,
        incubator: command.incubator === undefined ? event.incubator : command.incubator,
        celsius: command.celsius === undefined ? event.celsius : command.celsius,
        candling: command.candling ?? event.candling,
      };
      const others = (await eggEventsOf(tx, clutch.originalId)).filter((each) => each.id !== event.id);
      const stays = command.takeBack ? [] : [{ ...event, when: corrected.when ?? ANY }];
      const eggs = await readEggs(tx.db, [clutch.originalId]);
      for (const egg of event.eggId === null ? eggs : eggs.filter(({ id }) => id === event.eggId)) {
        const own = others.filter((each) => each.eggId === null || each.eggId === egg.id);
        const life = { number: egg.number, events: [...own, ...stays], laid: clutch.laid ?? ANY };
        const possible = decideEggEvents(life, tx.today);
        if (!possible.ok) return possible;
      }
      const eventId = await supersedeEggEvent(tx, event.id, command.takeBack ? null : corrected, command.reason);
      await tx.ledger.append(eggEventCorrected, {
        subjects: [clutch.originalId],
        body: {
          clutchId: clutch.originalId,
          eventId: event.id,
          replacedBy: eventId,
          ...(command.when === undefined
            ? {}
            : { earliest: command.when?.earliest ?? null, latest: command.when?.latest ?? null }),
        },
        personal: { reason: command.reason },
      });
      return decide({ clutchId: clutch.id, eventId });
    });
  }
}
