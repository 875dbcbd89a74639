import DataLoader from 'dataloader';
import { type AnimalView } from '../../animal/index.js';
import { type Viewer } from '../../kernel/index.js';
import {
  type ConnectionOf,
  PageArgs,
  type RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { type BreedingBounds } from '../core/bounds.core.js';
import { atMoment, type BreedingReadStore, type StoredClutch } from '../store/breeding-read.store.js';

/** What is loaded by id, in one statement for all that a request asks for. */
export function load<T>(
  loaders: RequestLoaders,
  key: symbol,
  read: (ids: readonly string[]) => Promise<Map<string, T>>,
  id: string,
): Promise<T | undefined> {
  const loader = loaders.get<string, T | undefined>(
    key,
    () =>
      new DataLoader(async (ids) => {
        const found = await read(ids);
        return ids.map((each) => found.get(each));
      }),
  );
  return loader.load(id);
}

type InForce = { readonly recordedAt: Date; readonly supersededAt: Date | null };

/** The facts of an animal as its viewer reads them; null where only lineage is shown. */
export async function loadShown<T extends InForce>(
  loaders: RequestLoaders,
  key: symbol,
  read: (ids: readonly string[]) => Promise<Map<string, T[]>>,
  view: AnimalView,
): Promise<T[] | null> {
  if (view.record === null) return null;
  return atMoment((await load(loaders, key, read, view.id)) ?? [], view.readsUntil);
}

const BOUNDS = Symbol('breeding bounds');

/** What breeding reads of a taxon's profile. */
export async function loadBounds(
  loaders: RequestLoaders,
  store: BreedingReadStore,
  taxonId: string,
): Promise<BreedingBounds> {
  return (await load(loaders, BOUNDS, (ids) => store.findBounds(ids), taxonId)) ?? {};
}

const CLUTCH_DAYS = Symbol('days of clutches');

/** The days of a dam's clutches, and of what hatched from them. */
export async function loadClutchDays(loaders: RequestLoaders, store: BreedingReadStore, damId: string) {
  return (await load(loaders, CLUTCH_DAYS, (ids) => store.findClutchDays(ids), damId)) ?? [];
}

const SHARES = Symbol('shared clutches');

/** Up to when a clutch, named by its first version, is shared with the viewer; null = it is not. */
export async function loadSharedAt(
  loaders: RequestLoaders,
  store: BreedingReadStore,
  viewer: Viewer,
  originalId: string,
): Promise<Date | null> {
  return (await load(loaders, SHARES, (ids) => store.findShares(viewer, ids), originalId)) ?? null;
}

/** The earlier of two moments; null = no end. */
export function earlier(a: Date | null, b: Date | null): Date | null {
  return a === null || (b !== null && b < a) ? b : a;
}

const CLUTCHES_SHOWN = Symbol('clutches shown');

/** A clutch where it is shown to the viewer. */
export async function loadClutch(
  loaders: RequestLoaders,
  store: BreedingReadStore,
  viewer: Viewer,
  id: string,
): Promise<StoredClutch | null> {
  return (await load(loaders, CLUTCHES_SHOWN, (ids) => store.findAllShown(viewer, ids), id)) ?? null;
}

/** A page of a list that is in memory already. */
export function paged<R, T>(
  rows: readonly R[],
  args: PageArgs,
  keyOf: (row: R) => string,
  toNode: (row: R) => T,
): ConnectionOf<T> {
  const page = toPage(args, 1);
  const after = page.after?.[0];
  const start = after === undefined ? 0 : rows.findIndex((row) => keyOf(row) === after) + 1;
  return toConnection(rows.slice(start, start + page.first + 1), page.first, (row) => [keyOf(row)], toNode);
}
