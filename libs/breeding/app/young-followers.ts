import { decide, type Decision } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/**
 * Animals or lots that are recorded as hatched or born out of one clutch, which is named by its first version. `keeperId` is the
 * keeper that says so: it has them, or owns a share of them. `eggsWith` had the eggs; whoever says so acts for both.
 */
export type YoungOfClutch = {
  readonly clutchId: string;
  readonly keeperId: string;
  readonly eggsWith: string;
  readonly animalIds: readonly string[];
};

/** What a context further down has to do in the same transaction. A refusal stops it. */
export type YoungFollower = (tx: Tx, young: YoungOfClutch) => Promise<Decision<null>>;

const followers: YoungFollower[] = [];

/**
 * Lets a context follow every hatching that is recorded, with the young and their parents on record and the young locked:
 * breeding stands above it and cannot call it. Called once, when the context is loaded.
 */
export function followYoung(follower: YoungFollower): void {
  followers.push(follower);
}

/** Tells all followers of young that have come out of a locked clutch. */
export async function tellYoung(tx: Tx, young: YoungOfClutch): Promise<Decision<null>> {
  for (const follower of followers) {
    const answer = await follower(tx, young);
    if (!answer.ok) return answer;
  }
  return decide(null);
}
