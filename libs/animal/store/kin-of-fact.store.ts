import { fromDateColumnOrNull } from '../../access/index.js';
import { type DaySpan } from '../../kernel/index.js';
import { type Db } from '../../platform/prisma/index.js';
import { type KinOfFact } from '../core/dependants.core.js';

/** The parents (candidates too) and the young that the claims in force give an animal, as far as its birth and sex bear on them. */
export async function readKin(db: Db, animalId: string): Promise<KinOfFact[]> {
  const rows = await db.$queryRaw<
    {
      id: string;
      is: 'parent' | 'child';
      role: 'sire' | 'dam';
      birth_earliest: Date | null;
      birth_latest: Date | null;
    }[]
  >`
    SELECT a.id, 'parent' AS is, c.role::text AS role, a.birth_earliest, a.birth_latest
    FROM parentage_claim c JOIN parent_candidate p ON p.claim_id = c.id JOIN animal a ON a.id = p.parent_id
    WHERE c.child_id = ${animalId}::uuid AND c.superseded_at IS NULL
    UNION ALL
    SELECT a.id, 'child', c.role::text, a.birth_earliest, a.birth_latest
    FROM parent_candidate p JOIN parentage_claim c ON c.id = p.claim_id JOIN animal a ON a.id = c.child_id
    WHERE p.parent_id = ${animalId}::uuid AND c.superseded_at IS NULL
    ORDER BY id`;
  return rows.map(({ id, is, role, birth_earliest, birth_latest }) => {
    const birth: DaySpan = {
      earliest: fromDateColumnOrNull(birth_earliest),
      latest: fromDateColumnOrNull(birth_latest),
    };
    return { id, is, role, birth };
  });
}
