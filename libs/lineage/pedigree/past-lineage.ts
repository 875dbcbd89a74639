import { Injectable } from '@nestjs/common';
import DataLoader from 'dataloader';
import { type AnimalView } from '../../animal/index.js';
import { RequestLoaders } from '../../platform/graphql/index.js';
import { LineageReadStore, type StoredClaim } from './lineage-read.store.js';
import { LivePedigree } from './live-pedigree.js';
import { pedigreeOfRequest } from './pedigree-of-request.js';
import { lineOf } from './pedigree-snapshot.core.js';

const CLAIMS = Symbol('claims');

/** What a past holder may still be told of a pedigree: numbers are computed for today only. */
@Injectable()
export class PastLineage {
  constructor(
    private readonly lineage: LineageReadStore,
    private readonly pedigrees: LivePedigree,
  ) {}

  /**
   * Whether a parent of the animal, or of any of its ancestors, is recorded otherwise than when the viewer gave it away, or
   * one of them was found to be another recorded animal since: then ancestors and numbers of today would tell what was
   * recorded since. False for everybody but a past holder.
   */
  async isChanged({ id, taxonId, readsUntil }: AnimalView, loaders: RequestLoaders): Promise<boolean> {
    if (readsUntil === null) return false;
    // Where no animal of today's line has other parents than then, the line of then is the same animals.
    const line = lineOf(await pedigreeOfRequest(loaders, this.pedigrees, taxonId), id);
    const merges = await this.lineage.findMerges(line, readsUntil);
    if (merges.some(({ isLater }) => isLater)) return true;
    const records = new Set([...line, ...merges.map(({ mergedId }) => mergedId)]);
    const claims = await Promise.all([...records].map((each) => loadClaims(loaders, this.lineage, each)));
    return claims.some((ofChild) => parents(ofChild, readsUntil) !== parents(ofChild, null));
  }
}

/** Every claim ever made on the parents of an animal; batched over the request. */
export async function loadClaims(
  loaders: RequestLoaders,
  store: LineageReadStore,
  animalId: string,
): Promise<StoredClaim[]> {
  const loader = loaders.get<string, StoredClaim[]>(
    CLAIMS,
    () =>
      new DataLoader(async (ids) => {
        const found = await store.findClaims(ids);
        return ids.map((each) => found.get(each) ?? []);
      }),
  );
  return loader.load(animalId);
}

/** The claims in force at a moment; null = now. */
export function claimsAt(claims: readonly StoredClaim[], at: Date | null): StoredClaim[] {
  return claims.filter((claim) =>
    at === null
      ? claim.supersededAt === null
      : claim.recordedAt <= at && (claim.supersededAt === null || claim.supersededAt > at),
  );
}

/** Everybody who is or may be a parent, and how likely; written so that equal statements are equal texts. */
function parents(claims: readonly StoredClaim[], at: Date | null): string {
  return JSON.stringify(
    claimsAt(claims, at)
      .map(({ role, withoutSire, candidates }) => [
        role,
        withoutSire,
        candidates.map(({ parentId, probability }) => [parentId, probability]).toSorted(),
      ])
      .toSorted(),
  );
}
