import { decide, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/** A clutch, named by its first version, that its keeper has corrected or taken back. */
export type CorrectedClutch = { readonly clutchId: string; readonly keeperId: string };

/** What a context further down has to say to it, in the same transaction. A refusal stops the correction. */
export type ClutchFollower = (tx: Tx, clutch: CorrectedClutch) => Promise<Decision<null>>;

const followers: ClutchFollower[] = [];

/** Lets a context follow every correction of a locked clutch, as `followYoung` does for hatchings. Called once, when the context is loaded. */
export function followClutches(follower: ClutchFollower): void {
  followers.push(follower);
}

/** Tells all followers of a clutch whose correction is written. */
export async function tellCorrected(tx: Tx, clutch: CorrectedClutch): Promise<Decision<null>> {
  for (const follower of followers) {
    const answer = await follower(tx, clutch);
    if (!answer.ok) return answer;
  }
  return decide(null);
}
