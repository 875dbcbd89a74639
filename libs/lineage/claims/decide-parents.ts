import { findAccess } from '../../access/index.js';
import { getForWrite } from '../../animal/index.js';
import { notFound, type Decision, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type ClaimWarning, decideClaim, type ParentFacts, type ParentStatement } from './claim.core.js';
import { readBiology, readDeaths } from './parent-facts.store.js';
import { type KinFacts } from './parentage.core.js';

/** Reads a parent that a viewer names. Throws NOT_FOUND for one they may not see, RECORD_MERGED. */
export async function getVisibleParent(tx: Tx, viewer: Viewer, parentId: string): Promise<KinFacts> {
  const seen = await findAccess(tx.db, viewer, [parentId]);
  if (!seen.has(parentId)) throw notFound('animal');
  return getForWrite(tx, parentId);
}

/**
 * What `decideClaim` says of a statement about a parent of `child`, with the facts of every candidate read through the
 * viewer's scope. Throws NOT_FOUND for a candidate they may not see, RECORD_MERGED for one that goes on in another record.
 */
export async function decideStatement(
  tx: Tx,
  viewer: Viewer,
  child: KinFacts,
  statement: ParentStatement,
  pathOf: (candidate: number) => string,
  whom: 'must_be_shown' | 'proposed' = 'must_be_shown',
): Promise<Decision<readonly ClaimWarning[]>> {
  const ids = statement.candidates.map(({ parentId }) => parentId);
  const seen = await findAccess(tx.db, viewer, ids);
  if (whom === 'must_be_shown' && ids.some((id) => !seen.has(id))) throw notFound('animal');
  const deaths = await readDeaths(tx, ids);
  const parents: ParentFacts[] = [];
  for (const id of ids) parents.push({ ...(await getForWrite(tx, id)), death: deaths.get(id) ?? null });
  return decideClaim(child, statement, parents, await readBiology(tx, child.taxonId), pathOf);
}
