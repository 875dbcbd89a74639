import { fieldsShown, findAccess } from '../../access/index.js';
import { NO_ID, notFound, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Mark } from '../core/mark.core.js';
import { type Authority, requireAuthority } from './animal-authority.store.js';
import { lockAnimals } from './animal-write.store.js';
import { findMark } from './mark-write.store.js';

/**
 * Locks the animal of a mark and gives the mark in force, as a viewer may see it. Throws NOT_FOUND in the same words for a
 * mark that does not exist and one that is not shown, after the same questions and without waiting for the lock.
 */
export async function lockVisibleMark(tx: Tx, viewer: Viewer, markId: string): Promise<Mark> {
  const { animalId } = await getVisibleMark(tx, viewer, markId);
  await lockAnimals(tx, [animalId]);
  return getVisibleMark(tx, viewer, markId);
}

async function getVisibleMark(tx: Tx, viewer: Viewer, markId: string): Promise<Mark> {
  const mark = await findMark(tx, markId);
  const animalId = mark?.animalId ?? NO_ID;
  const access = (await findAccess(tx.db, viewer, [animalId])).get(animalId);
  if (mark === null || access === undefined || !fieldsShown(access.level).record) throw notFound('mark');
  if (access.readsUntil !== null && mark.recordedAt > access.readsUntil) throw notFound('mark');
  return mark;
}

/** The same for a viewer who may write to the animal's record. Throws FORBIDDEN where they only see it. */
export async function requireMark(
  tx: Tx,
  viewer: Viewer,
  markId: string,
): Promise<{ readonly mark: Mark; readonly keeperId: Authority['keeperId'] }> {
  const mark = await lockVisibleMark(tx, viewer, markId);
  const { keeperId } = await requireAuthority(tx, viewer, mark.animalId);
  return { mark, keeperId };
}
