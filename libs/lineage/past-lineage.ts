import { Injectable } from '@nestjs/common';
import { type AnimalView } from '../animal/index.js';
import { LineageReadStore, type StoredClaim } from './lineage-read.store.js';
import { LivePedigree } from './live-pedigree.js';
import { lineOf } from './pedigree-snapshot.core.js';

/** What a past holder may still be told of a pedigree: numbers are computed for today only. */
@Injectable()
export class PastLineage {
  constructor(
    private readonly lineage: LineageReadStore,
    private readonly pedigrees: LivePedigree,
  ) {}

  /**
   * Whether a parent of the animal, or of any of its ancestors, is recorded otherwise than when the viewer gave it away: then
   * ancestors and numbers of today would tell what was recorded since. False for everybody but a past holder.
   */
  async isChanged({ id, taxonId, readsUntil }: AnimalView): Promise<boolean> {
    if (readsUntil === null) return false;
    // Where no animal of today's line has other parents than then, the line of then is the same animals.
    const line = lineOf(await this.pedigrees.of(taxonId), id);
    const claims = [...(await this.lineage.findClaims(line)).values()];
    return claims.some((ofChild) => parents(ofChild, readsUntil) !== parents(ofChild, null));
  }
}

/** The claims in force at a moment; null = now. */
export function claimsAt(claims: readonly StoredClaim[], at: Date | null): StoredClaim[] {
  return claims.filter((claim) =>
    at === null
      ? claim.supersededAt === null
      : claim.recordedAt <= at && (claim.supersededAt === null || claim.supersededAt > at),
  );
}

function parents(claims: readonly StoredClaim[], at: Date | null): string {
  return JSON.stringify(
    claimsAt(claims, at)
      .flatMap(({ role, parentId }) => (parentId === null ? [] : [[role, parentId]]))
      .toSorted(),
  );
}
