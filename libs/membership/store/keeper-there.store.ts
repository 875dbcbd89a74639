import { notFound } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/**
 * Throws NOT_FOUND for an id no keeper has, and for a keeper whose last owner was forgotten: others cannot name it any more. Until the
 * transaction ends it stays there; a forgetting under way is waited for.
 */
export async function requireKeeper(tx: Tx, id: string): Promise<void> {
  const rows = await tx.db.$queryRaw<unknown[]>`
    SELECT 1 FROM keeper WHERE id = ${id}::uuid AND forgotten_at IS NULL FOR KEY SHARE`;
  if (rows.length === 0) throw notFound('keeper');
}
