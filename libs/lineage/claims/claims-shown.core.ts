import { type ParentageBasis, type ParentRole } from './parentage.core.js';

/** A candidate of a claim. `keptId` is the record it goes on in where it was merged, else its own. */
export type KeptCandidate = { readonly parentId: string; readonly keptId: string; readonly probability: number };

/** A claim over its time in force. `ownerId` is the record it was made on, which may have been merged into the one asked for. */
export type RecordedClaim = {
  readonly id: string;
  readonly ownerId: string;
  readonly role: ParentRole;
  readonly basis: ParentageBasis;
  readonly withoutSire: boolean;
  readonly candidates: readonly KeptCandidate[];
  readonly recordedAt: Date;
  readonly supersededAt: Date | null;
};

/**
 * The claims that count for an animal, one a role at most: its own, and where it has none for a role, that of a record merged
 * into it. At a past moment only its own: what was merged since is not part of what was known.
 */
export function claimsShown<C extends RecordedClaim>(animalId: string, claims: readonly C[], at: Date | null): C[] {
  const known = claims.filter(({ ownerId, recordedAt, supersededAt }) =>
    at === null
      ? supersededAt === null
      : ownerId === animalId && recordedAt <= at && (supersededAt === null || supersededAt > at),
  );
  return (['sire', 'dam'] as const).flatMap((role) => {
    const ofRole = known.filter((claim) => claim.role === role);
    const claim = ofRole.find(({ ownerId }) => ownerId === animalId) ?? ofRole[0];
    return claim === undefined ? [] : [claim];
  });
}

/** The candidates of a claim by the records they go on in, most probable first; two records of one animal count together. */
export function candidatesShown(
  { candidates }: Pick<RecordedClaim, 'candidates'>,
  at: Date | null,
): { readonly id: string; readonly probability: number }[] {
  const sums = new Map<string, number>();
  for (const { parentId, keptId, probability } of candidates) {
    const id = at === null ? keptId : parentId;
    sums.set(id, (sums.get(id) ?? 0) + probability);
  }
  return [...sums]
    .map(([id, probability]) => ({ id, probability }))
    .toSorted((a, b) => b.probability - a.probability || (a.id < b.id ? -1 : 1));
}
