import { actsFor, notFound, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { readQuarantines, type StoredQuarantine } from '../store/quarantine-read.store.js';

/** A group of a keeper the viewer acts for, as it stands. Throws NOT_FOUND with one text for others' and for none. */
export async function findOwnQuarantine(tx: Tx, viewer: Viewer, groupId: string): Promise<StoredQuarantine> {
  const [group] = await readQuarantines(tx.db, [groupId]);
  if (group === undefined || !actsFor(viewer, group.keeperId)) throw notFound('quarantine');
  return group;
}
