import { fromDateColumnOrNull } from '../../access/index.js';
import { type DaySpan } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { parseTaxonProfile } from '../../taxon/index.js';
import { type Candidate, type ParentBiology } from './claim.core.js';
import { type ParentRole } from './parentage.core.js';

/** The days on which each dead animal can have died; those not recorded as dead are missing. Open where only the death is known. */
export async function readDeaths(tx: Tx, animalIds: readonly string[]): Promise<Map<string, DaySpan>> {
  const rows = await tx.db.animalFact.findMany({
    where: { animalId: { in: [...animalIds] }, kind: 'fate', supersededAt: null },
    select: { animalId: true, earliest: true, latest: true, body: true },
  });
  return new Map(
    rows
      .filter(({ body }) => (body as { fate?: string }).fate === 'dead')
      .map((row) => [
        row.animalId,
        { earliest: fromDateColumnOrNull(row.earliest), latest: fromDateColumnOrNull(row.latest) },
      ]),
  );
}

/** What a taxon's profile says that bears on parents. */
export async function readBiology(tx: Tx, taxonId: string): Promise<ParentBiology> {
  const taxon = await tx.db.taxon.findUniqueOrThrow({ where: { id: taxonId }, select: { profile: true } });
  return parseTaxonProfile(taxon.profile);
}

/** The claims in force on the parents of each animal, with the id of the kept record for each merged candidate. */
export async function readClaimsInForce(
  tx: Tx,
  childIds: readonly string[],
): Promise<Map<string, { readonly role: ParentRole; readonly candidates: readonly Candidate[] }[]>> {
  const rows = await tx.db.parentageClaim.findMany({
    where: { childId: { in: [...childIds] }, supersededAt: null },
    include: { candidates: { include: { parent: { select: { mergedIntoId: true } } } } },
  });
  const claims = new Map<string, { role: ParentRole; candidates: Candidate[] }[]>();
  for (const { childId, role, candidates } of rows) {
    const claim = {
      role,
      candidates: candidates.map(({ parentId, parent, probability }) => ({
        parentId: parent.mergedIntoId ?? parentId,
        probability: probability.toNumber(),
      })),
    };
    claims.set(childId, [...(claims.get(childId) ?? []), claim]);
  }
  return claims;
}
