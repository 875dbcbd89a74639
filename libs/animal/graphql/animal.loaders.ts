import DataLoader from 'dataloader';
import { type Viewer } from '../../kernel/index.js';
import { type RequestLoaders } from '../../platform/graphql/index.js';
import { type AnimalView } from '../core/animal-view.core.js';
import { type Fact, inForce, STANDING_KINDS } from '../core/fact.core.js';
import { type Mark, marksInForce } from '../core/mark.core.js';
import { type AnimalReadStore } from '../store/animal-read.store.js';

const ANIMALS = Symbol('animals');
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

/**
 * The facts of an animal that say what it is, of which there are few: no measurements, sightings and notes. In force when a past
 * holder gave it away, or now.
 */
export async function loadStanding(loaders: RequestLoaders, store: AnimalReadStore, view: AnimalView): Promise<Fact[]> {
  if (view.record === null) return [];
  const loader = loaders.get<string, Fact[]>(
    STANDING,
    () =>
      new DataLoader(async (ids) => {
        const found = await store.findFacts(ids, STANDING_KINDS);
        return ids.map((each) => found.get(each) ?? []);
      }),
  );
  return inForce(await loader.load(view.id), view.readsUntil);
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
