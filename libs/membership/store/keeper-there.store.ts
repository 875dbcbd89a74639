import { notFound } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { mayTakePart } from '../core/minor.core.js';
import { standingOfOne } from './member.store.js';

/**
 * Throws NOT_FOUND for an id no keeper has, and for a keeper whose last owner was forgotten: others cannot name it any more. Until the
 * transaction ends it stays there; a forgetting under way is waited for.
 */
export async function requireKeeper(tx: Tx, id: string): Promise<void> {
  const rows = await tx.db.$queryRaw<unknown[]>`
    SELECT 1 FROM keeper WHERE id = ${id}::uuid AND forgotten_at IS NULL FOR KEY SHARE`;
  if (rows.length === 0) throw notFound('keeper');
}

/**
 * The same for a keeper that others would deal with. One of a minor without a guardian takes part in nothing with others, so to them
 * it is not there: any other answer would say whose it is.
 */
export async function requireOtherKeeper(tx: Tx, id: string): Promise<void> {
  await requireKeeper(tx, id);
  if (!mayTakePart('transfer', await standingOfOne(tx, id), undefined).ok) throw notFound('keeper');
}
