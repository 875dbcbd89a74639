import { type Day, decide, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/** Two records of one animal, one of which is to be kept, and the day of the merge. */
export type Merging = { readonly keepId: string; readonly mergeId: string; readonly on: Day };

/** A merge that is taken back, and when it was recorded. */
export type Unmerging = { readonly keepId: string; readonly mergedId: string; readonly mergedAt: Date };

/** What a context further down has to do when records are merged or a merge is undone, in the same transaction. */
export type MergeFollower = {
  /** The locked record `mergeId` is about to end and go on as `keepId`; both stand still. A refusal stops it. */
  merging?(tx: Tx, merge: Merging): Promise<Decision<null>>;
  /** Both records stand for themselves again. */
  unmerged?(tx: Tx, merge: Unmerging): Promise<void>;
};

const followers: MergeFollower[] = [];

/** Lets a context follow every merge, as `followLots` does for lots. Called once, when the context is loaded. */
export function followMerges(follower: MergeFollower): void {
  followers.push(follower);
}

/** Asks all followers whether two locked records can become one, and has them do what follows from it. */
export async function askMerging(tx: Tx, merge: Merging): Promise<Decision<null>> {
  for (const follower of followers) {
    const answer = (await follower.merging?.(tx, merge)) ?? decide(null);
    if (!answer.ok) return answer;
  }
  return decide(null);
}

/** Tells all followers that a merge was undone. */
export async function tellUnmerged(tx: Tx, merge: Unmerging): Promise<void> {
  for (const follower of followers) await follower.unmerged?.(tx, merge);
}
