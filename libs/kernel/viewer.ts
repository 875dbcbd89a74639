/**
 * What an account may do for a keeper: an owner everything, a helper the daily work but no change of members or sharing. A
 * guardian does for a minor's keeper what an owner does, and alone speaks for it: countersigns its transfers, writes its
 * threads, lets it join clubs.
 */
export type KeeperRole = 'owner' | 'helper' | 'guardian';

/** An office of a club: its coordinator for a region (ISO 3166-2) and a taxon. Null = all of them; null and null = the registrar. */
export type Office = { readonly clubId: string; readonly region: string | null; readonly taxonId: string | null };

/**
 * Who asks. Built once a request (or from `actorId` in a job) and passed on as the first argument of every use case.
 * `keepers` are those the account acts for today, `clubIds` the clubs those keepers belong to today,
 * `offices` those the account holds today.
 */
export type Viewer = {
  readonly accountId: string;
  readonly keepers: readonly {
    readonly keeperId: string;
    readonly role: KeeperRole;
    /** The keeper is a minor's today; left out where it is not. */
    readonly minor?: true;
  }[];
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

/** Whether whoever has the role decides for the keeper: an owner does and a guardian, not a helper. */
export function decides(role: KeeperRole | undefined): boolean {
  return role === 'owner' || role === 'guardian';
}

/** Whether the viewer decides for the keeper: as an owner or a guardian, not as a helper. */
export function owns(viewer: Viewer, keeperId: string | null): boolean {
  return keeperId !== null && viewer.keepers.some((keeper) => keeper.keeperId === keeperId && decides(keeper.role));
}

/** The role in which the viewer acts for the keeper; undefined where it does not. */
export function roleFor(viewer: Viewer, keeperId: string): KeeperRole | undefined {
  return viewer.keepers.find((keeper) => keeper.keeperId === keeperId)?.role;
}

/** Whether the viewer is a guardian of the keeper, which is a minor's. */
export function guards(viewer: Viewer, keeperId: string | null): boolean {
  return (
    keeperId !== null && viewer.keepers.some((keeper) => keeper.keeperId === keeperId && keeper.role === 'guardian')
  );
}

/** Whether the viewer speaks with others for the keeper: whoever acts for it; for a minor's keeper a guardian alone. */
export function speaksFor(viewer: Viewer, keeperId: string | null): boolean {
  return (
    keeperId !== null &&
    viewer.keepers.some(
      (keeper) => keeper.keeperId === keeperId && (keeper.minor !== true || keeper.role === 'guardian'),
    )
  );
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
