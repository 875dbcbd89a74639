import { type Access, findAccess } from '../../access/index.js';
import { getForWrite, getNamed, project, readVersions } from '../../animal/index.js';
import { notFound, type Decision, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type ClaimWarning, decideClaim, type ParentFacts, type ParentStatement } from './claim.core.js';
import { readBiology, readDeaths } from './parent-facts.store.js';
import { type KinFacts } from './parentage.core.js';

const ANY = { earliest: null, latest: null };

/** Reads a parent that a viewer names, as they may read it. Throws NOT_FOUND for one they may not see, RECORD_MERGED. */
export async function getVisibleParent(tx: Tx, viewer: Viewer, parentId: string): Promise<KinFacts> {
  const seen = await findAccess(tx.db, viewer, [parentId]);
  if (!seen.has(parentId)) throw notFound('animal');
  return readAsShown(tx, await getForWrite(tx, parentId), seen.get(parentId));
}

/**
 * What `decideClaim` says of a statement about a parent of `child`, with the facts of every candidate as the viewer may read them:
 * a refusal or a warning tells nobody of a sex or a death found since they gave the animal away. Throws NOT_FOUND for a candidate
 * they may not see, RECORD_MERGED for one that goes on in another record.
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
  const parents: ParentFacts[] = [];
  // Whom a clutch names or its records propose is named already; a person names the record that is kept.
  const read = whom === 'proposed' ? getNamed : getForWrite;
  for (const id of ids) parents.push(await readAsShown(tx, await read(tx, id), seen.get(id)));
  return decideClaim(child, statement, parents, await readBiology(tx, child.taxonId), pathOf);
}

/** The facts of a parent at a level: a past holder's of then, without a death where lineage alone is shown, nothing without any. */
async function readAsShown(tx: Tx, parent: KinFacts, access: Access | undefined): Promise<ParentFacts> {
  const { id } = parent;
  switch (access?.level) {
    case 'past': {
      const then = project(await readVersions(tx, id), access.readsUntil ?? new Date(0));
      const death = then.fate === 'dead' ? (then.fateWhen ?? ANY) : null;
      return { ...parent, sex: then.sex, birth: then.birth ?? ANY, death };
    }
    case 'club':
      return { ...parent, death: null };
    case undefined:
    case 'none':
      return { ...parent, sex: 'unknown', birth: ANY, death: null };
    default:
      return { ...parent, death: (await readDeaths(tx, [id])).get(id) ?? null };
  }
}
