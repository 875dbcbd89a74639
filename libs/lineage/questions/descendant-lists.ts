import { Injectable } from '@nestjs/common';
import { type AnimalView } from '../../animal/index.js';
import { descendantFinder, type DescendantFinder, descendantPager, type DescendantPager } from './descendants.core.js';
import { DescendantStore } from './descendants.store.js';
import { type RequestLoaders } from '../../platform/graphql/index.js';
import { LivePedigree } from '../pedigree/live-pedigree.js';
import { pedigreeOfRequest } from '../pedigree/pedigree-of-request.js';
import { buildSnapshot, type PedigreeSnapshot } from '../pedigree/pedigree-snapshot.core.js';

/** Generations descendants are shown over at most. */
export const MAX_DESCENDANT_GENERATIONS = 20;
/** Animals whose descendants are remembered, so that the next page of a list need not find them again. */
const REMEMBERED = 8;

/** What is known of the descendants in one pedigree; it goes when the pedigree does. */
type Known = { readonly finder: DescendantFinder; readonly pagers: Map<number, DescendantPager> };

/** Descendants of animals, as of the pedigree of today, or as recorded when a past holder gave the animal away. */
@Injectable()
export class DescendantLists {
  private readonly known = new WeakMap<PedigreeSnapshot, Known>();

  constructor(
    private readonly pedigrees: LivePedigree,
    private readonly store: DescendantStore,
  ) {}

  /** All descendants of the animal, shown to the viewer or not. */
  async of({ id, taxonId, readsUntil }: AnimalView, loaders: RequestLoaders): Promise<DescendantPager> {
    if (readsUntil !== null) return this.ofMoment(id, readsUntil);
    const snapshot = await pedigreeOfRequest(loaders, this.pedigrees, taxonId);
    const animal = snapshot.indexOf.get(id);
    if (animal === undefined) throw new Error('A registered animal is missing from its pedigree.');
    const known = this.knownOf(snapshot);
    const pager = known.pagers.get(animal) ?? pagerOf(snapshot, known.finder, animal);
    known.pagers.delete(animal);
    known.pagers.set(animal, pager);
    const [longestUnused] = known.pagers.keys();
    if (known.pagers.size > REMEMBERED && longestUnused !== undefined) known.pagers.delete(longestUnused);
    return pager;
  }

  private knownOf(snapshot: PedigreeSnapshot): Known {
    const known = this.known.get(snapshot) ?? { finder: descendantFinder(snapshot.pedigree), pagers: new Map() };
    this.known.set(snapshot, known);
    return known;
  }

  private async ofMoment(id: string, at: Date): Promise<DescendantPager> {
    const claims = await this.store.findClaimsAt(id, at, MAX_DESCENDANT_GENERATIONS);
    const ids = new Set([id, ...claims.flatMap(({ childId, parentId }) => [childId, parentId ?? childId])]);
    const record = { alive: false, declaredFounder: false, mergedIntoId: null };
    const snapshot = buildSnapshot(
      [...ids].toSorted().map((each) => ({ ...record, id: each })),
      claims,
      0n,
    );
    return pagerOf(snapshot, descendantFinder(snapshot.pedigree), snapshot.indexOf.get(id) ?? 0);
  }
}

function pagerOf({ ids }: PedigreeSnapshot, finder: DescendantFinder, animal: number): DescendantPager {
  return descendantPager(finder.of(animal), (index) => ids.at(index) ?? '');
}
