import DataLoader from 'dataloader';
import { type RequestLoaders } from '../../platform/graphql/index.js';
import { type AnimalView } from '../core/animal-view.core.js';
import { type SeriesKey } from '../core/measurement.core.js';
import { type Series, type SeriesOf, type SeriesStore } from '../store/series.store.js';
import { MAX_POINTS } from './measurement.types.js';

const SERIES = Symbol('series');

/**
 * The days of a series that a curve shows of an animal whose record the viewer may read, and the one before them: in force when a
 * past holder gave it away, or now. Batched over the request: one statement for all series of all animals.
 */
export async function loadSeries(
  loaders: RequestLoaders,
  store: SeriesStore,
  view: AnimalView,
  series: SeriesKey,
): Promise<Series> {
  const loader = loaders.get<SeriesOf, Series>(
    SERIES,
    () => new DataLoader((asked) => store.findSeries(asked, MAX_POINTS + 1)),
  );
  return loader.load({ animalId: view.id, readsUntil: view.readsUntil, series });
}
