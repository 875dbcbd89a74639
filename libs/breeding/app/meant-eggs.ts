import { actsFor, type Decision, NO_ID, notFound, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { decideMeantEggs, type EggInHand, isApart, type MeantEggs } from '../core/egg-holder.core.js';
import { type ClutchFacts, findClutch, lockClutch } from '../store/clutch.store.js';
import { clutchesShared } from '../store/breeding-share.store.js';
import { everHadEggs, readEggsInHand } from '../store/egg-custody.store.js';

/** A locked clutch and the eggs of it that something is recorded of. */
export type ClutchInHand = { readonly clutch: ClutchFacts; readonly eggs: readonly EggInHand[] };

/**
 * Locks a clutch that a keeper of the viewer recorded, or has eggs of; also for whoever had some and reads it still, to be told
 * that they went on. `beforeLock` locks what comes first in the order of locks. NOT_FOUND otherwise.
 */
export async function takeClutch(
  tx: Tx,
  viewer: Viewer,
  id: string,
  beforeLock: (clutch: ClutchFacts) => Promise<void> = () => Promise.resolve(),
): Promise<ClutchInHand> {
  const seen = await getClutchInHand(tx, viewer, id);
  await beforeLock(seen);
  const clutch = await lockClutch(tx, seen.originalId);
  if (clutch === null) throw notFound('clutch');
  return { clutch, eggs: (await readEggsInHand(tx.db, [clutch])).get(clutch.originalId) ?? [] };
}

/** The clutch as `takeClutch` would take it, not locked. NOT_FOUND after the same questions whether there is none or it is not theirs. */
export async function getClutchInHand(tx: Tx, viewer: Viewer, id: string): Promise<ClutchFacts> {
  const seen = await findClutch(tx.db, id);
  if (seen !== null && actsFor(viewer, seen.keeperId)) return seen;
  const mine = viewer.keepers.map(({ keeperId }) => keeperId);
  const had = await everHadEggs(tx.db, seen?.originalId ?? NO_ID, mine);
  if (seen === null || !had || !(await readsEggs(tx, viewer, seen))) throw notFound('clutch');
  return seen;
}

/** Whether a keeper of the viewer that had eggs of the clutch has some now, or reads of it still. */
async function readsEggs(tx: Tx, viewer: Viewer, clutch: ClutchFacts): Promise<boolean> {
  const eggs = (await readEggsInHand(tx.db, [clutch])).get(clutch.originalId) ?? [];
  if (eggs.some((egg) => actsFor(viewer, egg.keeperId))) return true;
  return (await clutchesShared(tx.db, viewer, [clutch.originalId])).has(clutch.originalId);
}

/** See `decideMeantEggs`: whose eggs the viewer means, and which. */
export function meantEggs(
  viewer: Viewer,
  { clutch, eggs }: ClutchInHand,
  meant: { readonly numbers: readonly number[] | null; readonly ending: boolean },
): Decision<MeantEggs> {
  const mine = viewer.keepers.map(({ keeperId }) => keeperId);
  return decideMeantEggs({ ...clutch, id: clutch.originalId }, eggs, mine, meant);
}

/** Whether an egg of the clutch was ever handed over, or is about to be. */
export function wasApart({ clutch, eggs }: ClutchInHand): boolean {
  return isApart(clutch, eggs);
}
