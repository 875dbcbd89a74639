import { actsFor, type Decision, notFound, type Viewer } from '../../kernel/index.js';
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
  const seen = await findClutch(tx.db, id);
  if (seen === null || !(await isIn(tx, viewer, seen))) throw notFound('clutch');
  await beforeLock(seen);
  const clutch = await lockClutch(tx, seen.originalId);
  if (clutch === null) throw notFound('clutch');
  return { clutch, eggs: (await readEggsInHand(tx.db, [clutch])).get(clutch.originalId) ?? [] };
}

async function isIn(tx: Tx, viewer: Viewer, clutch: ClutchFacts): Promise<boolean> {
  if (actsFor(viewer, clutch.keeperId)) return true;
  const mine = viewer.keepers.map(({ keeperId }) => keeperId);
  if (!(await everHadEggs(tx.db, clutch.originalId, mine))) return false;
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
