import DataLoader from 'dataloader';
import { actsFor, type Viewer } from '../../kernel/index.js';
import { type RequestLoaders } from '../../platform/graphql/index.js';
import { type AnimalView } from '../core/animal-view.core.js';
import { type Fact, type FactKind, inForce, STANDING_KINDS } from '../core/fact.core.js';
import { type Mark, marksInForce } from '../core/mark.core.js';
import { type AnimalReadStore } from '../store/animal-read.store.js';

const ANIMALS = Symbol('animals');
const FACTS = Symbol('facts');
const STANDING = Symbol('standing facts');
const MARKS = Symbol('marks');

/** The animal as the viewer sees it, or null where it does not exist for them; batched over the request. */
export async function loadAnimal(
  loaders: RequestLoaders,
  store: AnimalReadStore,
  viewer: Viewer,
  id: string,
): Promise<AnimalView | null> {
  const loader = loaders.get<string, AnimalView | null>(
    ANIMALS,
    () =>
      new DataLoader(async (ids) => {
        const found = await store.findVisible(viewer, ids);
        return ids.map((each) => found.get(each) ?? null);
      }),
  );
  return loader.load(id);
}

/** The facts of an animal that are shown, all of them: in force when a past holder gave it away, or now; private notes to their keeper only. */
export async function loadFacts(
  loaders: RequestLoaders,
  store: AnimalReadStore,
  viewer: Viewer,
  view: AnimalView,
): Promise<Fact[]> {
  if (view.record === null) return [];
  const facts = await factsOf(FACTS, undefined, loaders, store).load(view.id);
  return inForce(facts, view.readsUntil).filter(
    (fact) => fact.kind !== 'note' || fact.body.topic !== 'private' || actsFor(viewer, fact.keeperId),
  );
}

/** The same of the kinds that say what an animal is, of which there are few: no measurements, sightings and notes. */
export async function loadStanding(loaders: RequestLoaders, store: AnimalReadStore, view: AnimalView): Promise<Fact[]> {
  if (view.record === null) return [];
  return inForce(await factsOf(STANDING, STANDING_KINDS, loaders, store).load(view.id), view.readsUntil);
}

function factsOf(
  name: symbol,
  kinds: readonly FactKind[] | undefined,
  loaders: RequestLoaders,
  store: AnimalReadStore,
): DataLoader<string, Fact[]> {
  return loaders.get<string, Fact[]>(
    name,
    () =>
      new DataLoader(async (ids) => {
        const found = await store.findFacts(ids, kinds);
        return ids.map((each) => found.get(each) ?? []);
      }),
  );
}

/**
 * Every version of every mark of an animal that the viewer may read: of what was recorded after a past holder gave it away,
 * neither marks nor ends nor corrections.
 */
export async function loadMarkHistory(
  loaders: RequestLoaders,
  store: AnimalReadStore,
  view: AnimalView,
): Promise<Mark[]> {
  if (view.record === null) return [];
  const loader = loaders.get<string, Mark[]>(
    MARKS,
    () =>
      new DataLoader(async (ids) => {
        const found = await store.findMarks(ids);
        return ids.map((each) => found.get(each) ?? []);
      }),
  );
  const until = view.readsUntil;
  const all = await loader.load(view.id);
  if (until === null) return all;
  return all
    .filter((mark) => mark.recordedAt <= until)
    .map((mark) =>
      mark.supersededAt !== null && mark.supersededAt > until ? { ...mark, supersededAt: null, reason: null } : mark,
    );
}

/** The marks in force that are shown, ended ones too. */
export async function loadMarks(loaders: RequestLoaders, store: AnimalReadStore, view: AnimalView): Promise<Mark[]> {
  return marksInForce(await loadMarkHistory(loaders, store, view), null);
}
