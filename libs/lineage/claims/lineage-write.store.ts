import { v7 as uuid } from 'uuid';
import { type When } from '../../animal/index.js';
import { fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { insertRows, type Tx } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { type Candidate } from './claim.core.js';
import { type ParentageBasis, type ParentRole } from './parentage.core.js';

/**
 * A claim on one parent: one candidate with certainty, or several with their probabilities, which sum to 1; none where there
 * was no sire (`withoutSire`). `when` and `evidence`: what it rests on, when that was and in words.
 */
export type ClaimInput = {
  readonly role: ParentRole;
  readonly basis: ParentageBasis;
  readonly candidates: readonly Candidate[];
  readonly withoutSire?: boolean;
  readonly when?: When | null;
  readonly evidence?: string | null;
};

/**
 * Adds a new animal to the pedigree of its taxon, with the claims on its parents. Nothing can descend from a new animal,
 * so no cycle is possible; each parent must have passed `decideParent`. Call it last in a transaction: it waits for every
 * other writer of the same pedigree. Gives the pedigree's new version.
 */
export async function addToLineage(
  tx: Tx,
  animal: { id: string; taxonId: string },
  claims: readonly ClaimInput[],
): Promise<bigint> {
  return addAllToLineage(tx, animal.taxonId, [{ id: animal.id, claims }]);
}

/**
 * The same for many animals of one taxon in a fixed number of statements. They may be each other's parents; then the
 * caller has made sure that no cycle is among them.
 */
export async function addAllToLineage(
  tx: Tx,
  taxonId: string,
  animals: readonly { readonly id: string; readonly claims: readonly ClaimInput[] }[],
): Promise<bigint> {
  const claims = animals.flatMap(({ id: childId, claims: own }) =>
    own.map((claim) => ({ id: uuid(), childId, claim })),
  );
  await insertClaims(tx, claims);
  const byChild = groupRows(claims, ({ childId }) => childId);
  return moveLineageOn(
    tx,
    taxonId,
    animals.flatMap(({ id: animalId }) => [
      { animalId, claimId: null },
      ...(byChild.get(animalId) ?? []).map((claim) => ({ animalId, claimId: claim.id })),
    ]),
  );
}

/** Repeats the claims in force of a lot for what was split from it, and adds that to the pedigree. */
export async function copyParentage(tx: Tx, fromId: string, to: { id: string; taxonId: string }): Promise<bigint> {
  const claims = await tx.db.parentageClaim.findMany({
    where: { childId: fromId, supersededAt: null },
    include: { candidates: true },
  });
  return addToLineage(
    tx,
    to,
    claims.map((claim) => ({
      role: claim.role,
      basis: claim.basis,
      withoutSire: claim.withoutSire,
      evidence: claim.evidence,
      when:
        claim.edtf === null
          ? null
          : {
              edtf: claim.edtf,
              earliest: fromDateColumnOrNull(claim.earliest),
              latest: fromDateColumnOrNull(claim.latest),
            },
      candidates: claim.candidates.map(({ parentId, probability }) => ({
        parentId,
        probability: probability.toNumber(),
      })),
    })),
  );
}

/**
 * Replaces the claim in force on one parent, with a reason; a `null` claim leaves the parent unknown. `reason` may be null
 * where no claim is in force. The caller has locked the pedigree with `lockLineage` and made sure that no cycle arises.
 */
export async function replaceClaim(
  tx: Tx,
  animal: { id: string; taxonId: string },
  role: ParentRole,
  claim: ClaimInput | null,
  reason: string | null,
): Promise<bigint> {
  const before = await tx.db.parentageClaim.findFirst({
    where: { childId: animal.id, role, supersededAt: null },
    select: { id: true },
  });
  const id = claim === null ? null : uuid();
  if (before !== null) {
    await tx.db.parentageClaim.update({
      where: { id: before.id },
      data: { supersededAt: tx.now, supersededBy: id, reason },
    });
  }
  if (claim !== null && id !== null) await insertClaims(tx, [{ id, childId: animal.id, claim }]);
  return moveLineageOn(tx, animal.taxonId, [{ animalId: animal.id, claimId: id ?? before?.id ?? null }]);
}

/** Keeps every other writer of the taxon's pedigree out until the transaction ends, so that two claims cannot close a cycle together. */
export async function lockLineage(tx: Tx, taxonId: string): Promise<void> {
  await ensurePopulation(tx, taxonId);
  await tx.db.$queryRaw`SELECT id FROM lineage_population WHERE taxon_id = ${taxonId}::uuid FOR NO KEY UPDATE`;
}

/**
 * Every recorded step from some animals to their parents and on, candidates included, as child → parents. Merged records
 * stand under the id of the one kept, with the claims of all of them: also those that a claim on the kept one outweighs,
 * because they count again once the merge is undone. The ids given are those of kept records.
 */
export async function readAncestry(tx: Tx, ...animalIds: readonly string[]): Promise<Map<string, string[]>> {
  const rows = await tx.db.$queryRaw<{ child_id: string; parent_id: string }[]>`
    WITH RECURSIVE step AS (
      SELECT NULL::uuid AS child_id, id AS parent_id FROM unnest(${[...animalIds]}::uuid[]) AS start (id)
      UNION
      SELECT s.parent_id, coalesce(a.merged_into_id, a.id) FROM step s
      JOIN LATERAL (SELECT s.parent_id AS id UNION ALL SELECT m.id FROM animal m WHERE m.merged_into_id = s.parent_id) record ON true
      JOIN parentage_claim c ON c.child_id = record.id AND c.superseded_at IS NULL
      JOIN parent_candidate p ON p.claim_id = c.id
      JOIN animal a ON a.id = p.parent_id
    ) SELECT child_id, parent_id FROM step WHERE child_id IS NOT NULL`;
  const parents = new Map<string, string[]>();
  for (const row of rows) parents.set(row.child_id, [...(parents.get(row.child_id) ?? []), row.parent_id]);
  return parents;
}

/** Sets whether a locked animal is declared a founder. `moveLineageOn` is the caller's. */
export async function setFounder(tx: Tx, animalId: string, founder: boolean): Promise<void> {
  await tx.db.animal.update({
    where: { id: animalId },
    data: { declaredFounder: founder, version: { increment: 1 } },
  });
}

type NewClaim = { readonly id: string; readonly childId: string; readonly claim: ClaimInput };

async function insertClaims(tx: Tx, claims: readonly NewClaim[]): Promise<void> {
  const rows = claims.map(({ id, childId, claim: { role, basis, when, withoutSire, evidence } }) => ({
    id,
    childId,
    role,
    basis,
    withoutSire: withoutSire ?? false,
    evidence: evidence ?? null,
    edtf: when?.edtf ?? null,
    earliest: when?.earliest ? toDateColumn(when.earliest) : null,
    latest: when?.latest ? toDateColumn(when.latest) : null,
    recordedAt: tx.now,
    recordedBy: tx.actorId ?? childId,
  }));
  await insertRows(tx.db, 'parentageClaim', rows);
  const candidates = claims.flatMap(({ id, claim }) => claim.candidates.map((each) => ({ claimId: id, ...each })));
  await insertRows(tx.db, 'parentCandidate', candidates);
}

async function ensurePopulation(tx: Tx, taxonId: string): Promise<void> {
  await tx.db.$executeRaw`
    INSERT INTO lineage_population (id, taxon_id, version) VALUES (${uuid()}::uuid, ${taxonId}::uuid, 0) ON CONFLICT (taxon_id) DO NOTHING`;
}

/**
 * Gives each change a version of its own. The row lock taken here is held to the commit, so versions follow commit order:
 * whoever reads version n has every change up to n before their eyes.
 */
export async function moveLineageOn(
  tx: Tx,
  taxonId: string,
  changes: readonly { readonly animalId: string; readonly claimId: string | null }[],
): Promise<bigint> {
  await ensurePopulation(tx, taxonId);
  const [row] = await tx.db.$queryRaw<{ id: string; version: bigint }[]>`
    UPDATE lineage_population SET version = version + ${changes.length} WHERE taxon_id = ${taxonId}::uuid RETURNING id, version`;
  if (row === undefined) throw new Error('The pedigree of the taxon is gone.');
  const first = row.version - BigInt(changes.length) + 1n;
  const rows = changes.map((change, i) => ({ populationId: row.id, version: first + BigInt(i), ...change }));
  await insertRows(tx.db, 'lineageChange', rows);
  return row.version;
}
