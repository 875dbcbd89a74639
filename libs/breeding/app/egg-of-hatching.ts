import { type When } from '../../animal/index.js';
import { type Day, type DaySpan, decide, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { decideEggEvents } from '../core/egg.core.js';
import { type HatchingFacts } from '../store/breeding-write.store.js';
import { eggEventsOf, findHatchedWith, type StoredEggEvent, supersedeEggEvent } from '../store/egg.store.js';

/** The event of an egg that was put right with a hatching, and the one in its place. */
export type EggFollowed = { readonly eventId: string; readonly replacedBy: string | null };

/**
 * The event that a hatching wrote of its egg goes with it: taken back (`when` undefined) once no young is left of the egg, so that it
 * can hatch later or fail; put on the hatching's new day while both say the same, of an only young. What somebody recorded of the egg
 * by itself stays. Refuses as `decideEggEvents`. Call it after the hatching was superseded, with the clutch locked.
 */
export async function followHatching(
  tx: Tx,
  clutch: { readonly originalId: string; readonly laid: DaySpan | null },
  hatching: HatchingFacts,
  change: { readonly when: When | null | undefined; readonly reason: string },
  today: Day,
): Promise<Decision<EggFollowed | null>> {
  const { eggId } = hatching;
  const eventId = eggId === null ? null : await findHatchedWith(tx, eggId, change.when === undefined ? 0 : 1);
  if (eventId === null) return decide(null);
  const events = await eggEventsOf(tx, clutch.originalId);
  const event = events.find(({ id }) => id === eventId);
  if (event?.eggId !== eggId || event.eggNumber === null) return decide(null);
  if (change.when === undefined)
    return decide({ eventId, replacedBy: await supersedeEggEvent(tx, eventId, null, change.reason) });
  if (event.written?.edtf !== hatching.when?.edtf) return decide(null);
  const moved: StoredEggEvent = {
    ...event,
    when: { earliest: change.when?.earliest ?? null, latest: change.when?.latest ?? null },
  };
  const life = [...events.filter((each) => each !== event && (each.eggId === null || each.eggId === eggId)), moved];
  const laid = clutch.laid ?? { earliest: null, latest: null };
  const possible = decideEggEvents({ number: event.eggNumber, events: life, laid }, today);
  if (!possible.ok) return possible;
  const by = {
    clutchId: clutch.originalId,
    eggId,
    keeperId: event.keeperId,
    kind: event.kind,
    when: change.when,
    enclosureId: event.enclosureId,
    incubator: event.incubator,
    celsius: event.celsius,
    candling: event.candling,
  };
  return decide({ eventId, replacedBy: await supersedeEggEvent(tx, eventId, by, change.reason) });
}
