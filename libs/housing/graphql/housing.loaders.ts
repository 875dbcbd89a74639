import DataLoader from 'dataloader';
import { type Viewer } from '../../kernel/index.js';
import { type RequestLoaders } from '../../platform/graphql/index.js';
import { groupRows } from '../../taxon/index.js';
import { type Enclosure, type HousingReadStore } from '../store/housing-read.store.js';
import { type SharedStay, type StayFilter, type StayOnRecord } from '../store/shared-stays.store.js';

const ENCLOSURES = Symbol('enclosures');

const keepersOf = (viewer: Viewer) => viewer.keepers.map((keeper) => keeper.keeperId);

/** The enclosure where it is an own one, or null; batched over the request. */
export async function loadEnclosure(
  loaders: RequestLoaders,
  store: HousingReadStore,
  viewer: Viewer,
  id: string,
): Promise<Enclosure | null> {
  const loader = loaders.get<string, Enclosure | null>(
    ENCLOSURES,
    () =>
      new DataLoader(async (ids) => {
        const found = await store.findOwn(keepersOf(viewer), ids);
        return ids.map((each) => found.get(each) ?? null);
      }),
  );
  return loader.load(id);
}

/** Which days a list is about, and as recorded when. */
export type Days = Omit<StayFilter, 'keeperIds'>;

/** Lists about the same days go into one statement, so each kind and days have a loader of their own. */
function load<T>(
  loaders: RequestLoaders,
  kind: string,
  days: Days,
  id: string,
  read: (ids: readonly string[]) => Promise<Map<string, T[]>>,
): Promise<T[]> {
  const key = Symbol.for(`${kind} ${days.from ?? ''} ${days.until} ${days.knownAt?.toISOString() ?? ''}`);
  const loader = loaders.get<string, T[]>(
    key,
    () =>
      new DataLoader(async (ids) => {
        const found = await read(ids);
        return ids.map((each) => found.get(each) ?? []);
      }),
  );
  return loader.load(id);
}

/** The stays in an own enclosure that touch the days. */
export async function loadResidents(
  loaders: RequestLoaders,
  store: HousingReadStore,
  viewer: Viewer,
  enclosureId: string,
  days: Days,
): Promise<StayOnRecord[]> {
  return load(loaders, 'residents', days, enclosureId, async (enclosureIds) =>
    groupRows(await store.stays({ keeperIds: keepersOf(viewer), ...days, enclosureIds }), (stay) => stay.enclosureId),
  );
}

/** The stays of an animal in own enclosures. */
export async function loadStays(
  loaders: RequestLoaders,
  store: HousingReadStore,
  viewer: Viewer,
  animalId: string,
  days: Days,
): Promise<StayOnRecord[]> {
  return load(loaders, 'stays', days, animalId, async (animalIds) =>
    groupRows(await store.stays({ keeperIds: keepersOf(viewer), ...days, animalIds }), (stay) => stay.animalId),
  );
}

/** Who was in one own enclosure with the animal on the days. */
export async function loadCompanions(
  loaders: RequestLoaders,
  store: HousingReadStore,
  viewer: Viewer,
  animalId: string,
  days: Days,
): Promise<SharedStay[]> {
  return load(loaders, 'companions', days, animalId, async (animalIds) =>
    groupRows(await store.shared({ keeperIds: keepersOf(viewer), ...days, animalIds }), (stay) => stay.animalId),
  );
}
