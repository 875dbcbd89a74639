import DataLoader from 'dataloader';
import {
  type ConnectionOf,
  type PageArgs,
  type RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { invalidInput, isId, type Viewer } from '../../kernel/index.js';
import { groupRows } from '../../taxon/index.js';
import { type AnimalView } from '../core/animal-view.core.js';
import { type FactVersion } from '../core/correction.core.js';
import { type Fact, type FactKind } from '../core/fact.core.js';
import { type FactPageOf, type FactPageStore } from '../store/fact-page.store.js';

/** INVALID_INPUT for a cursor that is none of the list. */
export const notOfThisList = () =>
  invalidInput([
    {
      path: 'after',
      message: 'This is not a cursor of this list.',
      remedy: 'Use `endCursor` of the page before, or leave it out.',
    },
  ]);

/** A page of facts, last recorded first; the facts come in the order they were recorded. Throws INVALID_INPUT. */
export function newestFirst<F extends { readonly id: string }, T>(
  facts: readonly F[],
  args: PageArgs,
  toNode: (fact: F) => T,
): ConnectionOf<T> {
  const page = toPage(args, 1);
  const newest = facts.toReversed();
  const after = page.after?.[0];
  const start = after === undefined ? 0 : newest.findIndex((fact) => fact.id === after) + 1;
  if (after !== undefined && start === 0) throw notOfThisList();
  return toConnection(newest.slice(start, start + page.first + 1), page.first, (fact) => [fact.id], toNode);
}

const PAGES = Symbol('pages of facts');

type Asked = FactPageOf & { readonly kinds: readonly FactKind[]; readonly first: number };

/**
 * A page of the facts of some kinds that the viewer may read of an animal, last recorded first: in force when a past holder gave
 * it away, or now; private notes to their keeper only. Batched over the request: one statement for each choice of kinds and length
 * of page. Throws INVALID_INPUT.
 */
export async function loadFactPage<K extends FactKind, T>(
  loaders: RequestLoaders,
  store: FactPageStore,
  { viewer, view, kinds }: { readonly viewer: Viewer; readonly view: AnimalView; readonly kinds: readonly K[] },
  args: PageArgs,
  toNode: (fact: Extract<Fact, { kind: K }>) => T,
): Promise<ConnectionOf<T>> {
  const page = toPage(args, 1);
  const after = page.after?.[0] ?? null;
  if (after !== null && !isId(after)) throw notOfThisList();
  const own = viewer.keepers.map((keeper) => keeper.keeperId);
  const loader = loaders.get<Asked, Fact[] | null>(
    PAGES,
    () =>
      new DataLoader(async (asked) => {
        const found: (Fact[] | null)[] = asked.map(() => null);
        const alike = groupRows([...asked.keys()], (i) => `${asked[i]?.kinds.join()} ${asked[i]?.first}`);
        for (const places of alike.values()) {
          const group = places.flatMap((i) => asked[i] ?? []);
          const [one] = group;
          if (one === undefined) continue;
          const pages = await store.findPages(group, one.kinds, one.first, own);
          for (const [j, i] of places.entries()) found[i] = pages[j] ?? null;
        }
        return found;
      }),
  );
  const facts = await loader.load({ animalId: view.id, readsUntil: view.readsUntil, after, kinds, first: page.first });
  if (facts === null) throw notOfThisList();
  const ofKinds = facts.filter((fact): fact is Extract<Fact, { kind: K }> => kinds.some((kind) => kind === fact.kind));
  return toConnection(ofKinds, page.first, (fact) => [fact.id], toNode);
}

const VERSIONS = Symbol('pages of fact versions');

type VersionsAsked = { readonly animalId: string; readonly after: string | null; readonly first: number };

/**
 * A page of every version of every fact of an animal whose record the viewer reads as it is now, last recorded first; private
 * notes to their keeper only. Batched over the request: one statement for each length of page. Throws INVALID_INPUT.
 */
export async function loadVersionPage<T>(
  loaders: RequestLoaders,
  store: FactPageStore,
  { viewer, view }: { readonly viewer: Viewer; readonly view: AnimalView },
  args: PageArgs,
  toNode: (fact: FactVersion) => T,
): Promise<ConnectionOf<T>> {
  const page = toPage(args, 1);
  const after = page.after?.[0] ?? null;
  if (after !== null && !isId(after)) throw notOfThisList();
  const own = viewer.keepers.map((keeper) => keeper.keeperId);
  const loader = loaders.get<VersionsAsked, FactVersion[] | null>(
    VERSIONS,
    () =>
      new DataLoader(async (asked) => {
        const found: (FactVersion[] | null)[] = asked.map(() => null);
        for (const first of new Set(asked.map((each) => each.first))) {
          const places = [...asked.keys()].filter((i) => asked[i]?.first === first);
          const group = places.flatMap((i) => asked[i] ?? []);
          const pages = await store.findVersionPages(group, first, own);
          for (const [j, i] of places.entries()) found[i] = pages[j] ?? null;
        }
        return found;
      }),
  );
  const facts = await loader.load({ animalId: view.id, after, first: page.first });
  if (facts === null) throw notOfThisList();
  return toConnection(facts, page.first, (fact) => [fact.id], toNode);
}
