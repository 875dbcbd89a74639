import { type Tx } from '../../platform/prisma/index.js';
import { lockLineage, replaceClaim } from './lineage-write.store.js';
import { type ParentRole } from './parentage.core.js';

/**
 * The parentage of a lot that takes another in: a parent on which both say the same stays, any other becomes unknown. Gives the
 * roles that became so. Both lots are locked and of one taxon; called after everything but the pedigree is written.
 */
export async function joinParentage(
  tx: Tx,
  fromId: string,
  into: { readonly id: string; readonly taxonId: string },
): Promise<ParentRole[]> {
  await lockLineage(tx, into.taxonId);
  const [from, to] = [await claimsOf(tx, fromId), await claimsOf(tx, into.id)];
  const unknown: ParentRole[] = [];
  for (const role of ['sire', 'dam'] as const) {
    if (from.get(role) === to.get(role)) continue;
    if (to.has(role)) await replaceClaim(tx, into, role, null, 'Joined with a lot of other parents.');
    unknown.push(role);
  }
  return unknown;
}

/** What is claimed of each parent, in a form that is equal where the claims name the same candidates with the same weight. */
async function claimsOf(tx: Tx, childId: string): Promise<Map<ParentRole, string>> {
  const claims = await tx.db.parentageClaim.findMany({
    where: { childId, supersededAt: null },
    select: { role: true, withoutSire: true, candidates: { orderBy: { parentId: 'asc' } } },
  });
  return new Map(
    claims.map(({ role, withoutSire, candidates }) => [
      role,
      JSON.stringify([withoutSire, candidates.map(({ parentId, probability }) => [parentId, probability.toString()])]),
    ]),
  );
}
