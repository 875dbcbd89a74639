import { findAccess } from '../../access/index.js';
import { type DomainError, forbidden, notFound, type Viewer } from '../../kernel/index.js';
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
  const authority = (await requireAuthorities(tx, viewer, [animalId], holderOnly)).get(animalId);
  if (authority === undefined) throw notFound('animal');
  return authority;
}

/** The same for several animals at once, however many: what is thrown is about the first that gives cause. */
export async function requireAuthorities(
  tx: Tx,
  viewer: Viewer,
  animalIds: readonly string[],
  holderOnly = false,
): Promise<Map<string, Authority>> {
  const grants = await tx.db.animalAccess.findMany({
    where: {
      animalId: { in: [...animalIds] },
      keeperId: { in: viewer.keepers.map((keeper) => keeper.keeperId) },
      relation: { in: holderOnly ? ['holder'] : ['holder', 'owner'] },
      validTo: null,
    },
    // The enum's order: a holder comes before an owner. Of several the one named last in the map below counts.
    orderBy: [{ relation: 'desc' }, { id: 'desc' }],
    include: { animal: { select: { id: true, mergedIntoId: true } } },
  });
  const first = new Map(grants.map((grant) => [grant.animalId, grant]));
  const authorities = new Map<string, Authority>();
  for (const animalId of animalIds) {
    const grant = first.get(animalId);
    if (grant?.relation !== 'holder' && grant?.relation !== 'owner')
      throw await unauthorized(tx, viewer, animalId, holderOnly);
    refuseMerged(grant.animal);
    authorities.set(animalId, { keeperId: grant.keeperId, relation: grant.relation });
  }
  return authorities;
}

async function unauthorized(tx: Tx, viewer: Viewer, animalId: string, holderOnly: boolean): Promise<DomainError> {
  const seen = await findAccess(tx.db, viewer, [animalId]);
  if (!seen.has(animalId)) return notFound('animal');
  return forbidden(
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
