import DataLoader from 'dataloader';
import { type RequestLoaders } from '../platform/graphql/index.js';
import { type TaxonStore } from './taxon.store.js';
import { type Line, type Taxon } from './taxon.js';

const TAXA = Symbol('taxa');
const LINES = Symbol('lines');
const LINES_OF = Symbol('lines of a taxon');

/** The taxon with this id, batched over the request. */
export async function loadTaxon(loaders: RequestLoaders, store: TaxonStore, id: string): Promise<Taxon> {
  const loader = loaders.get<string, Taxon | undefined>(
    TAXA,
    () => new DataLoader(async (ids) => pick(ids, await store.findMany(ids))),
  );
  const taxon = await loader.load(id);
  if (taxon === undefined) throw new Error(`Taxon ${id} is named but does not exist.`);
  return taxon;
}

/** The line with this id, batched over the request. */
export async function loadLine(loaders: RequestLoaders, store: TaxonStore, id: string): Promise<Line | null> {
  const loader = loaders.get<string, Line | undefined>(
    LINES,
    () => new DataLoader(async (ids) => pick(ids, await store.findLines(ids))),
  );
  return (await loader.load(id)) ?? null;
}

/** The lines of a taxon, batched over the request. */
export async function loadLinesOf(loaders: RequestLoaders, store: TaxonStore, taxonId: string): Promise<Line[]> {
  const loader = loaders.get<string, Line[] | undefined>(
    LINES_OF,
    () => new DataLoader(async (ids) => pick(ids, await store.findLinesOf(ids))),
  );
  return (await loader.load(taxonId)) ?? [];
}

/** A batch's answers in the order of its keys, as DataLoader wants them. */
function pick<T>(ids: readonly string[], found: ReadonlyMap<string, T>): (T | undefined)[] {
  return ids.map((id) => found.get(id));
}
