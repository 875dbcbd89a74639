import DataLoader from 'dataloader';
import { actsFor, type Viewer } from '../../kernel/index.js';
import { type RequestLoaders } from '../../platform/graphql/index.js';
import { type TaxonProfile } from '../../taxon/index.js';
import { type AnimalView } from '../core/animal-view.core.js';
import { type FactVersion } from '../core/correction.core.js';
import { type FactHistoryStore } from '../store/fact-history.store.js';

const VERSIONS = Symbol('fact versions');
const PROFILES = Symbol('profiles of animals');

/**
 * Every version of every fact the viewer may read, in the order they were recorded: private notes to their keeper only, and to a
 * past holder nothing recorded since, not even that a fact was corrected.
 */
export async function loadVersions(
  loaders: RequestLoaders,
  store: FactHistoryStore,
  viewer: Viewer,
  view: AnimalView,
): Promise<FactVersion[]> {
  if (view.record === null) return [];
  const loader = loaders.get<string, FactVersion[]>(
    VERSIONS,
    () =>
      new DataLoader(async (ids) => {
        const found = await store.findVersions(ids);
        return ids.map((id) => found.get(id) ?? []);
      }),
  );
  const shown = (await loader.load(view.id)).filter(
    (fact) => fact.kind !== 'note' || fact.body.topic !== 'private' || actsFor(viewer, fact.keeperId),
  );
  const until = view.readsUntil;
  if (until === null) return shown;
  return shown
    .filter((fact) => fact.recordedAt <= until)
    .map((fact) =>
      fact.supersededAt !== null && fact.supersededAt > until
        ? { ...fact, supersededAt: null, supersededBy: null, reason: null }
        : fact,
    );
}

/** What is said of the biology of an animal's taxon; batched over the request. */
export async function loadProfile(
  loaders: RequestLoaders,
  store: FactHistoryStore,
  animalId: string,
): Promise<TaxonProfile> {
  const loader = loaders.get<string, TaxonProfile>(
    PROFILES,
    () =>
      new DataLoader(async (ids) => {
        const found = await store.findProfiles(ids);
        return ids.map((id) => found.get(id) ?? {});
      }),
  );
  return loader.load(animalId);
}
