import { findAccess } from '../../access/index.js';
import { lockAnimals } from '../../animal/index.js';
import { type Decision, decide, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Cover } from '../core/document.core.js';
import { animalsNotHeld, taxaExist } from '../store/document-write.store.js';
import { animalIdsOf } from './document-ledger.js';

/**
 * Whether a keeper may record these covers: animals they have or own today, which are locked first, and taxa there are.
 * Throws NOT_FOUND for what the viewer does not see; COVER_NOT_HELD for what they see and the keeper neither has nor owns.
 */
export async function checkCovers(
  tx: Tx,
  viewer: Viewer,
  keeperId: string,
  covers: readonly Cover[],
): Promise<Decision<undefined>> {
  const animalIds = animalIdsOf({ covers });
  await lockAnimals(tx, animalIds);
  const missing = await animalsNotHeld(tx, keeperId, animalIds);
  const seen = await findAccess(tx.db, viewer, missing);
  if (missing.some((id) => !seen.has(id))) throw notFound('animal');
  if (missing.length > 0)
    return refuse('COVER_NOT_HELD', 'The keeper neither has nor owns an animal the document is said to cover.', {
      blockers: missing.map((id) => ({ kind: 'animal', id, remedy: 'Leave it out, or receive it first.' })),
    });
  const taxonIds = covers.flatMap((cover) => (cover.what === 'taxon' ? [cover.taxonId] : []));
  if (!(await taxaExist(tx, taxonIds))) throw notFound('taxon');
  return decide(undefined);
}
