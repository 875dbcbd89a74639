/** What an account may do for a keeper: an owner everything, a helper the daily work but no change of members or sharing. */
export type KeeperRole = 'owner' | 'helper';

/** An office of a club: its coordinator for a region (ISO 3166-2) and a taxon. Null = all of them; null and null = the registrar. */
export type Office = { readonly clubId: string; readonly region: string | null; readonly taxonId: string | null };

/**
 * Who asks. Built once a request (or from `actorId` in a job) and passed on as the first argument of every use case.
 * `keepers` are those the account acts for today, `clubIds` the clubs those keepers belong to today,
 * `offices` those the account holds today.
 */
export type Viewer = {
  readonly accountId: string;
  readonly keepers: readonly { readonly keeperId: string; readonly role: KeeperRole }[];
  readonly clubIds: readonly string[];
  readonly offices: readonly Office[];
  /** The sign-in the request belongs to; none in a job. */
  readonly sessionId?: string;
  readonly requestId: string;
  /** Of the `Idempotency-Key` header; a write with a key happens once. */
  readonly idempotencyKey?: string;
};

/** Whether the viewer acts for the keeper, in any role. */
export function actsFor(viewer: Viewer, keeperId: string | null): boolean {
  return keeperId !== null && viewer.keepers.some((keeper) => keeper.keeperId === keeperId);
}

/** Whether the viewer is an owner of the keeper's account, not a helper. */
export function owns(viewer: Viewer, keeperId: string | null): boolean {
  return keeperId !== null && viewer.keepers.some((keeper) => keeper.keeperId === keeperId && keeper.role === 'owner');
}

/** Whether one of the viewer's offices covers all of the scope; a null in the scope asks for all regions or all taxa. */
export function holdsOffice(viewer: Viewer, scope: Office): boolean {
  return viewer.offices.some(
    (office) =>
      office.clubId === scope.clubId &&
      (office.region === null || office.region === scope.region) &&
      (office.taxonId === null || office.taxonId === scope.taxonId),
  );
}
