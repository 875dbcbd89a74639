import { findOwnEnclosure, readStays } from '../../housing/index.js';
import { type Day, notFound } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { eggState, isOver, lastPlace } from '../core/egg.core.js';
import { numbersOf } from '../core/egg-holder.core.js';
import { clutchesIn, findClutch } from '../store/clutch.store.js';
import { readEggsInHand } from '../store/egg-custody.store.js';
import { eggEventsOf } from '../store/egg.store.js';

/** Everybody who is in an enclosure on a day, and the eggs that are there, by the first version of their clutch. */
export type Family = {
  readonly animalIds: readonly string[];
  /** Null = all that are left; undefined = it cannot be told, for some are elsewhere and nobody counted them. */
  readonly eggs: ReadonlyMap<string, readonly number[] | null | undefined>;
};

/**
 * The family of an own enclosure: the animals that are in it on a day and have not left by then, and the eggs whose last place
 * it is. Throws NOT_FOUND for another keeper's enclosure.
 */
export async function familyIn(tx: Tx, keeperId: string, enclosureId: string, on: Day): Promise<Family> {
  const enclosure = await findOwnEnclosure(tx, [keeperId], enclosureId);
  if (enclosure === null) throw notFound('enclosure');
  const days = { from: on, until: on, knownAt: null };
  const stays = await readStays(tx.db, { keeperIds: [keeperId], enclosureIds: [enclosure.id], ...days });
  const animalIds = new Set(stays.filter(({ to }) => to === null || to > on).map(({ animalId }) => animalId));
  const eggs = new Map<string, readonly number[] | null | undefined>();
  for (const originalId of await clutchesIn(tx, enclosure.id))
    eggs.set(originalId, await eggsLeftIn(tx, originalId, enclosure.id));
  return { animalIds: [...animalIds].toSorted(), eggs };
}

/**
 * The eggs of a clutch that are still in an enclosure: null = all that are left, since none is known to be elsewhere or to have
 * ended; undefined = it cannot be told.
 */
async function eggsLeftIn(tx: Tx, originalId: string, enclosureId: string): Promise<number[] | null | undefined> {
  const clutch = await findClutch(tx.db, originalId);
  if (clutch === null) return [];
  const events = await eggEventsOf(tx, originalId);
  const eggs = (await readEggsInHand(tx.db, [clutch])).get(originalId) ?? [];
  const away = eggs.filter((egg) => {
    if (egg.keeperId !== clutch.keeperId || egg.onItsWay !== null) return true;
    const life = events.filter((event) => event.wholeClutch || event.eggId === egg.id);
    const place = lastPlace(life);
    return isOver(eggState(life)) || (place !== null && place.enclosureId !== enclosureId);
  });
  if (away.length === 0) return null;
  const gone = new Set(away.map(({ number }) => number));
  return numbersOf(clutch, eggs)?.filter((number) => !gone.has(number));
}
