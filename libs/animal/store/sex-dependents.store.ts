import { z } from 'zod';
import { findAccess } from '../../access/index.js';
import { type Viewer } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Sex } from '../core/fact.core.js';

/** Something recorded that the sex of an animal now contradicts; the id is of the offspring, the mating or the clutch. */
export type SexDependent = { readonly kind: 'offspring' | 'mating' | 'clutch'; readonly id: string };

/** The same as the stored outcome of a write holds it. */
export const sexDependents = z.array(z.object({ kind: z.enum(['offspring', 'mating', 'clutch']), id: z.uuid() }));

/** Most that are named: more are found by mending these. */
const MOST = 100;

/**
 * What names a locked animal as dam though it is male, or as sire though it is female, as far as the viewer may see it: visible
 * offspring, and matings and clutches their keepers recorded. Nothing is changed: who recorded it decides what was wrong.
 */
export async function findSexConflicts(tx: Tx, viewer: Viewer, animalId: string, sex: Sex): Promise<SexDependent[]> {
  if (sex === 'unknown') return [];
  const wrongRole = sex === 'male' ? 'dam' : 'sire';
  const children = await tx.db.$queryRaw<{ id: string }[]>`
    SELECT DISTINCT c.child_id AS id FROM parent_candidate p JOIN parentage_claim c ON c.id = p.claim_id
    WHERE p.parent_id = ${animalId}::uuid AND c.superseded_at IS NULL AND c.role::text = ${wrongRole} ORDER BY 1`;
  const seen = await findAccess(
    tx.db,
    viewer,
    children.map(({ id }) => id),
  );
  const keeperId = { in: viewer.keepers.map((keeper) => keeper.keeperId) };
  const own = { keeperId, supersededAt: null };
  const matings = await tx.db.mating.findMany({
    where: { ...own, ...(sex === 'male' ? { damId: animalId } : { sireId: animalId }) },
    select: { id: true },
    orderBy: { id: 'asc' },
    take: MOST,
  });
  const clutches =
    sex === 'male'
      ? await tx.db.clutch.findMany({
          where: { ...own, damId: animalId },
          select: { id: true },
          orderBy: { id: 'asc' },
          take: MOST,
        })
      : [];
  return [
    ...children.filter(({ id }) => seen.has(id)).map(({ id }) => ({ kind: 'offspring' as const, id })),
    ...matings.map(({ id }) => ({ kind: 'mating' as const, id })),
    ...clutches.map(({ id }) => ({ kind: 'clutch' as const, id })),
  ].slice(0, MOST);
}
