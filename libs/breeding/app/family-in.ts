import { findOwnEnclosure, readStays } from '../../housing/index.js';
import { compareDays, type Day, dayOf, notFound } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { lastPlace } from '../core/egg.core.js';
import { type EggInHand, eggsLeft } from '../core/egg-holder.core.js';
import { clutchesOnceIn, findClutches } from '../store/clutch.store.js';
import { readEggsInHand } from '../store/egg-custody.store.js';
import { readEggEvents } from '../store/egg.store.js';

/** Everybody who is in an enclosure on a day, and the eggs that are there, by the first version of their clutch. */
export type Family = {
  readonly animalIds: readonly string[];
  /** Null = all that are left; undefined = it cannot be told, for some are elsewhere and nobody counted them. */
  readonly eggs: ReadonlyMap<string, readonly number[] | null | undefined>;
};

/**
 * The family of an own enclosure: the animals that are in it on a day and have not left by then, and the eggs the keeper has
 * whose last place it is, whoever recorded their clutch. Throws NOT_FOUND for another keeper's enclosure.
 */
export async function familyIn(tx: Tx, keeperId: string, enclosureId: string, on: Day): Promise<Family> {
  const enclosure = await findOwnEnclosure(tx, [keeperId], enclosureId);
  if (enclosure === null) throw notFound('enclosure');
  const days = { from: on, until: on, knownAt: null };
  const stays = await readStays(tx.db, { keeperIds: [keeperId], enclosureIds: [enclosure.id], ...days });
  const animalIds = new Set(stays.filter(({ to }) => to === null || to > on).map(({ animalId }) => animalId));
  return { animalIds: [...animalIds].toSorted(), eggs: await eggsIn(tx, keeperId, enclosure.id) };
}

/** What of each clutch the keeper has in an own enclosure. */
async function eggsIn(tx: Tx, keeperId: string, enclosureId: string): Promise<Family['eggs']> {
  const once = await clutchesOnceIn(tx, enclosureId);
  const ids = once.map(({ originalId }) => originalId);
  const clutches = await findClutches(tx.db, ids);
  const inHand = await readEggsInHand(tx.db, [...clutches.values()]);
  const events = (await readEggEvents(tx.db, ids)).filter(({ supersededAt }) => supersededAt === null);
  const left = new Map<string, readonly number[] | null | undefined>();
  for (const { originalId, hatched } of once) {
    const clutch = clutches.get(originalId);
    if (clutch === undefined) continue;
    const eggs = inHand.get(originalId) ?? [];
    const own = events.filter(({ clutchId }) => clutchId === originalId);
    const placeOf = (egg: EggInHand | undefined): string | null => {
      const since = egg?.since ?? null;
      // Of an egg that was handed over, what its keeper recorded since, also without a day.
      const life = own.filter(
        (event) =>
          (event.wholeClutch || event.eggId === egg?.id) &&
          (since === null ||
            ((event.keeperId ?? clutch.keeperId) === keeperId && compareDays(dayOf(event.recordedAt), since) >= 0)),
      );
      const place = lastPlace(life);
      return place === null && since === null ? clutch.enclosureId : (place?.enclosureId ?? null);
    };
    const known = eggs.map((egg) => ({ ...egg, here: placeOf(egg) === enclosureId }));
    left.set(
      originalId,
      eggsLeft(clutch, known, { keeperId, othersHere: placeOf(undefined) === enclosureId, hatched }),
    );
  }
  return left;
}
