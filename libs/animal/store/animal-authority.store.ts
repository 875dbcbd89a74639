import { findAccess } from '../../access/index.js';
import { forbidden, notFound, type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { refuseMerged } from './animal-write.store.js';

/** For whom a viewer acts on an animal: the keeper of theirs who has it, or else owns a share. */
export type Authority = { readonly keeperId: string; readonly relation: 'holder' | 'owner' };

/**
 * The keeper on whose behalf the viewer may write to a locked animal's record. Throws NOT_FOUND where the viewer may not see
 * it, FORBIDDEN where they see it but neither have nor own it, or (`holderOnly`) only own it, RECORD_MERGED where the record
 * goes on in another one.
 */
export async function requireAuthority(
  tx: Tx,
  viewer: Viewer,
  animalId: string,
  holderOnly = false,
): Promise<Authority> {
  const [grant] = await tx.db.animalAccess.findMany({
    where: {
      animalId,
      keeperId: { in: viewer.keepers.map((keeper) => keeper.keeperId) },
      relation: { in: holderOnly ? ['holder'] : ['holder', 'owner'] },
      validTo: null,
    },
    // The enum's order: a holder comes before an owner.
    orderBy: [{ relation: 'asc' }, { id: 'asc' }],
    take: 1,
    include: { animal: { select: { id: true, mergedIntoId: true } } },
  });
  if (grant?.relation === 'holder' || grant?.relation === 'owner') {
    refuseMerged(grant.animal);
    return { keeperId: grant.keeperId, relation: grant.relation };
  }
  const seen = await findAccess(tx.db, viewer, [animalId]);
  if (!seen.has(animalId)) throw notFound('animal');
  throw forbidden(
    holderOnly
      ? 'Only the keeper who has the animal may do this.'
      : 'Only a keeper who has or owns the animal may do this.',
  );
}

/** The keeper of the viewer that owns a share of an animal, or null. */
export async function findOwner(tx: Tx, viewer: Viewer, animalId: string): Promise<string | null> {
  const grant = await tx.db.animalAccess.findFirst({
    where: {
      animalId,
      keeperId: { in: viewer.keepers.map((keeper) => keeper.keeperId) },
      relation: 'owner',
      validTo: null,
    },
    orderBy: { id: 'asc' },
  });
  return grant?.keeperId ?? null;
}
