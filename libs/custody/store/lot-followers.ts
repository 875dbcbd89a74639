import { type Day, decide, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/** What a context further down has to do when a lot is parted or joined, in the same transaction. */
export type LotFollower = {
  /** Records came out of a lot: split off, or raised as individuals. The lot stands before its count reached none. */
  parted?(
    tx: Tx,
    parting: { readonly fromId: string; readonly toIds: readonly string[]; readonly on: Day },
  ): Promise<void>;
  /** All of one lot is about to go into another. A refusal stops it. */
  joining?(
    tx: Tx,
    join: { readonly fromId: string; readonly intoId: string; readonly on: Day },
  ): Promise<Decision<null>>;
  /** The count of a locked lot is about to change, because something that was recorded of it was wrong. A refusal stops it. */
  recounting?(tx: Tx, lotId: string): Promise<Decision<null>>;
};

const followers: LotFollower[] = [];

/**
 * Lets a context follow every split, raising and join, whoever does it: custody stands above it and cannot call it. Called once,
 * when the context is loaded.
 */
export function followLots(follower: LotFollower): void {
  followers.push(follower);
}

/** Tells all followers that records came out of a locked lot. */
export async function tellParted(
  tx: Tx,
  parting: { fromId: string; toIds: readonly string[]; on: Day },
): Promise<void> {
  for (const follower of followers) await follower.parted?.(tx, parting);
}

/** Asks all followers whether two locked lots can become one. */
export async function askJoining(tx: Tx, join: { fromId: string; intoId: string; on: Day }): Promise<Decision<null>> {
  for (const follower of followers) {
    const answer = (await follower.joining?.(tx, join)) ?? decide(null);
    if (!answer.ok) return answer;
  }
  return decide(null);
}

/** Asks all followers whether the count of a locked lot can be put right. */
export async function askRecounting(tx: Tx, lotId: string): Promise<Decision<null>> {
  for (const follower of followers) {
    const answer = (await follower.recounting?.(tx, lotId)) ?? decide(null);
    if (!answer.ok) return answer;
  }
  return decide(null);
}
