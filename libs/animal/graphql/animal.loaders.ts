import DataLoader from 'dataloader';
import { type Viewer } from '../../kernel/index.js';
import { type RequestLoaders } from '../../platform/graphql/index.js';
import { type AnimalView } from '../core/animal-view.core.js';
import { type Fact, inForce } from '../core/fact.core.js';
import { type AnimalReadStore, type Mark } from '../store/animal-read.store.js';

const ANIMALS = Symbol('animals');
const FACTS = Symbol('facts');
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

/** The facts of an animal that are shown: in force when a past holder gave it away, or now; private notes to their keeper only. */
export async function loadFacts(
  loaders: RequestLoaders,
  store: AnimalReadStore,
  viewer: Viewer,
  view: AnimalView,
): Promise<Fact[]> {
  if (view.record === null) return [];
  const loader = loaders.get<string, Fact[]>(
    FACTS,
    () =>
      new DataLoader(async (ids) => {
        const found = await store.findFacts(ids);
        return ids.map((each) => found.get(each) ?? []);
      }),
  );
  const own = new Set(viewer.keepers.map((keeper) => keeper.keeperId));
  return inForce(await loader.load(view.id), view.readsUntil).filter(
    (fact) => fact.kind !== 'note' || fact.body.topic !== 'private' || own.has(fact.keeperId),
  );
}

/** The marks of an animal that are shown. */
export async function loadMarks(loaders: RequestLoaders, store: AnimalReadStore, view: AnimalView): Promise<Mark[]> {
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
  return (await loader.load(view.id)).filter((mark) => until === null || mark.recordedAt <= until);
}
