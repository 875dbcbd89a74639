/** What an account may do for a keeper: an owner everything, a helper the daily work but no change of members or sharing. */
export type KeeperRole = 'owner' | 'helper';

/**
 * Who asks. Built once a request (or from `actorId` in a job) and passed on as the first argument of every use case.
 * `keepers` are those the account acts for today, `clubIds` the clubs those keepers belong to today.
 */
export type Viewer = {
  readonly accountId: string;
  readonly keepers: readonly { readonly keeperId: string; readonly role: KeeperRole }[];
  readonly clubIds: readonly string[];
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
