import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { clutchesThatMayHatch } from '../../breeding/index.js';
import { day, type Day } from '../../kernel/index.js';
import { type Db, Prisma, type Tx } from '../../platform/prisma/index.js';
import { type LoanSide, type YoungSplit } from '../loans/loan-terms.core.js';
import { type PickedYoung } from './pick.core.js';
import { type ClutchOrigin, type ParentStay } from './split-loan.core.js';
import { type ClutchTally } from './split-state.core.js';

/** A loan whose young are divided: its two sides, and how. */
export type DividedLoan = {
  readonly transferId: string;
  readonly lender: string;
  readonly borrower: string;
  readonly split: YoungSplit;
};

/** Both sides of the loan `lo`, and nobody else, own `a`. */
const OWNED_BY_BOTH = Prisma.sql`coalesce((SELECT count(*) = 2 AND bool_and(s.keeper_id IN (lo.from_keeper_id, lo.to_keeper_id))
  FROM ownership w JOIN ownership_share s ON s.ownership_id = w.id
  WHERE w.animal_id = a.id AND w.superseded_at IS NULL AND w.valid_to IS NULL), false)`;

/** The same, of one of the young `y` that is still on record as hatched in that clutch, or out of a lot. */
const OF_BOTH = Prisma.sql`(${OWNED_BY_BOTH} AND a.merged_into_id IS NULL
  AND (NOT EXISTS (SELECT 1 FROM hatching h WHERE h.animal_id = a.id)
    OR EXISTS (SELECT 1 FROM hatching h WHERE h.animal_id = a.id AND h.clutch_id = y.clutch_id AND h.superseded_at IS NULL)))`;

/** What is divided by turns and nobody has picked: alive and of both, a lot as well. */
export const UNPICKED = Prisma.sql`(y.picked_by IS NULL AND lt.split_method = 'by_turns' AND a.fate = 'alive' AND ${OF_BOTH})`;

/** What a side can pick: no lot. */
const UNDIVIDED = Prisma.sql`(a.kind = 'individual' AND ${UNPICKED})`;

type OriginRow = {
  keeperId: string;
  laid: Date;
  parents: { role: 'sire' | 'dam'; id: string }[];
  stays: (Omit<ParentStay, 'from' | 'to'> & { from: string; to: string | null })[];
};

/**
 * What tells of which loan a clutch is; null when it was taken back. `youngIds` are its young at hand, whose sires are on record;
 * `likelySires` count as well where nothing has hatched.
 * All records of one animal count as it.
 */
export async function readClutchOrigin(
  tx: Tx,
  clutchId: string,
  youngIds: readonly string[],
  likelySires: readonly string[] = [],
): Promise<ClutchOrigin | null> {
  const [row] = await tx.db.$queryRaw<OriginRow[]>`
    WITH c AS (
      SELECT id, keeper_id, dam_id, coalesce(latest, found_on, (SELECT (v.recorded_at AT TIME ZONE 'UTC')::date
        FROM clutch v WHERE v.id = clutch.original_id)) AS laid
      FROM clutch WHERE original_id = ${clutchId}::uuid AND superseded_at IS NULL
    ), named AS (
      SELECT 'dam' AS role, dam_id AS id FROM c WHERE dam_id IS NOT NULL
      UNION SELECT 'dam', d.dam_id FROM c JOIN clutch_dam d ON d.clutch_id = c.id
      UNION SELECT 'sire', k.parent_id FROM parentage_claim p JOIN parent_candidate k ON k.claim_id = p.id
        WHERE p.child_id = ANY(${[...youngIds]}::uuid[]) AND p.role = 'sire' AND p.superseded_at IS NULL
      UNION SELECT 'sire', id FROM unnest(${[...likelySires]}::uuid[]) AS likely (id)
    ), parent AS (
      SELECT DISTINCT n.role, coalesce(a.merged_into_id, a.id) AS id FROM named n JOIN animal a ON a.id = n.id
    ), sire AS (SELECT id FROM parent WHERE role = 'sire'
    ), record AS (
      SELECT p.role, p.id, r.id AS record_id FROM parent p JOIN animal r ON r.id = p.id OR r.merged_into_id = p.id
    )
    SELECT c.keeper_id AS "keeperId", c.laid,
      (SELECT coalesce(jsonb_agg(jsonb_build_object('role', p.role, 'id', p.id) ORDER BY p.role, p.id), '[]')
        FROM parent p) AS parents,
      (SELECT coalesce(jsonb_agg(jsonb_build_object('role', p.role, 'parentId', p.id, 'transferId', t.id,
          'borrowerId', t.to_keeper_id, 'from', s.valid_from, 'to', s.valid_to,
          'lentThen', EXISTS (SELECT 1 FROM ownership o JOIN ownership_share x ON x.ownership_id = o.id
            WHERE o.animal_id = p.record_id AND o.superseded_at IS NULL AND x.keeper_id = t.from_keeper_id
              AND o.valid_from <= c.laid AND (o.valid_to IS NULL OR c.laid < o.valid_to)),
          'matedThere', p.role = 'dam' AND (SELECT count(*) FROM sire) = 1 AND EXISTS (
            SELECT 1 FROM mating m JOIN animal male ON male.id = m.sire_id
            JOIN sire ON sire.id = coalesce(male.merged_into_id, male.id)
            JOIN record mated ON mated.record_id = m.dam_id AND mated.id = p.id AND mated.role = 'dam'
            WHERE m.superseded_at IS NULL AND m.keeper_id = t.to_keeper_id
              AND m.latest >= s.valid_from AND (s.valid_to IS NULL OR m.latest < s.valid_to)))), '[]')
        FROM record p JOIN custody s ON s.animal_id = p.record_id AND s.superseded_at IS NULL AND s.valid_from <= c.laid
        JOIN transfer t ON t.id = s.arrival_ref AND t.kind = 'breeding_loan' AND t.to_keeper_id = s.keeper_id) AS stays
    FROM c`;
  if (row === undefined) return null;
  const parentsOf = (role: 'sire' | 'dam'): string[] =>
    row.parents.filter((parent) => parent.role === role).map(({ id }) => id);
  return {
    keeperId: row.keeperId,
    laid: fromDateColumn(row.laid),
    parents: { sire: parentsOf('sire'), dam: parentsOf('dam') },
    stays: row.stays.map((stay) => ({ ...stay, from: day(stay.from), to: stay.to === null ? null : day(stay.to) })),
  };
}

/** The loan by whose terms the young of a clutch are divided already, or null. */
export async function findLoanOfClutch(tx: Tx, clutchId: string): Promise<string | null> {
  const row = await tx.db.loanClutch.findUnique({ where: { clutchId }, select: { transferId: true } });
  return row?.transferId ?? null;
}

/** Locks the terms of a loan against other writers of its young, after its animals; null where no young are divided by them. */
export async function lockDividedLoan(tx: Tx, transferId: string): Promise<DividedLoan | null> {
  await tx.db.$queryRaw`SELECT 1 FROM loan_terms WHERE transfer_id = ${transferId}::uuid FOR NO KEY UPDATE`;
  return readDividedLoan(tx.db, transferId);
}

/** The two sides of a loan and how its young are divided; null where its terms say nothing of it. No scope. */
export async function readDividedLoan(db: Db, transferId: string): Promise<DividedLoan | null> {
  const row = await db.loanTerms.findUnique({
    where: { transferId },
    include: { transfer: { select: { fromKeeperId: true, toKeeperId: true } } },
  });
  if (row?.transfer.toKeeperId === undefined || row.transfer.toKeeperId === null) return null;
  const { lenderParts, ofParts, splitMethod, firstPick, oddOne, transfer } = row;
  if (splitMethod === null || lenderParts === null || ofParts === null) return null;
  const parts = { lenderParts, ofParts };
  const sides = { transferId, lender: transfer.fromKeeperId, borrower: row.transfer.toKeeperId };
  return splitMethod === 'by_turns' && firstPick !== null && oddOne !== null
    ? { ...sides, split: { ...parts, method: 'by_turns', firstPick, oddOne } }
    : { ...sides, split: { ...parts, method: 'shared', firstPick: null, oddOne: null } };
}

/** Of locked records those that belong to one keeper alone, undisputed; with the first day of it, and whether they are in an open transfer. */
export async function findSolelyOwned(
  tx: Tx,
  animalIds: readonly string[],
): Promise<{ animalId: string; keeperId: string; since: Day; open: boolean }[]> {
  const rows = await tx.db.$queryRaw<{ animalId: string; keeperId: string; since: Date; open: boolean }[]>`
    SELECT o.animal_id AS "animalId", s.keeper_id AS "keeperId", o.valid_from AS since,
      EXISTS (SELECT 1 FROM transfer_item i WHERE i.animal_id = o.animal_id AND i.open) AS open
    FROM ownership o JOIN ownership_share s ON s.ownership_id = o.id
    WHERE o.animal_id = ANY(${[...animalIds]}::uuid[]) AND o.superseded_at IS NULL AND o.valid_to IS NULL
      AND o.state = 'agreed' AND s.keeper_id IS NOT NULL
      AND NOT EXISTS (SELECT 1 FROM ownership_share other WHERE other.ownership_id = o.id AND other.id <> s.id)
      AND NOT EXISTS (SELECT 1 FROM loan_young y WHERE y.animal_id = o.animal_id)
    ORDER BY o.animal_id`;
  return rows.map((row) => ({ ...row, since: fromDateColumn(row.since) }));
}

/**
 * Of locked records those that both sides of a loan own and nobody has picked, and that are on record in this clutch of it and no
 * longer in the one they were recorded in first; with the first day on which both owned them.
 */
export async function findMisplaced(
  tx: Tx,
  transferId: string,
  clutchId: string,
  animalIds: readonly string[],
): Promise<{ animalId: string; since: Day }[]> {
  const rows = await tx.db.$queryRaw<{ animalId: string; since: Date }[]>`
    SELECT a.id AS "animalId", o.valid_from AS since
    FROM loan_young y JOIN animal a ON a.id = y.animal_id
    JOIN loan_clutch lc ON lc.clutch_id = y.clutch_id JOIN transfer lo ON lo.id = lc.transfer_id
    JOIN ownership o ON o.animal_id = a.id AND o.superseded_at IS NULL AND o.valid_to IS NULL
    WHERE a.id = ANY(${[...animalIds]}::uuid[]) AND lo.id = ${transferId}::uuid AND y.clutch_id <> ${clutchId}::uuid
      AND y.picked_by IS NULL AND ${OWNED_BY_BOTH} AND NOT ${OF_BOTH}
    ORDER BY a.id`;
  return rows.map(({ animalId, since }) => ({ animalId, since: fromDateColumn(since) }));
}

/** Puts young of a clutch under the terms of a locked loan, or moves them there from another clutch of it. Gives the number of the clutch. */
export async function insertYoung(
  tx: Tx,
  transferId: string,
  clutchId: string,
  animalIds: readonly string[],
): Promise<number> {
  await tx.db.$executeRaw`
    INSERT INTO loan_clutch (clutch_id, transfer_id, number, recorded_at)
    SELECT ${clutchId}::uuid, ${transferId}::uuid, 1 + count(*), ${tx.now}
    FROM loan_clutch WHERE transfer_id = ${transferId}::uuid
    ON CONFLICT (clutch_id) DO NOTHING`;
  await tx.db.$executeRaw`
    INSERT INTO loan_young (animal_id, clutch_id) SELECT id, ${clutchId}::uuid FROM unnest(${[...animalIds]}::uuid[]) AS t (id)
    ON CONFLICT (animal_id) DO UPDATE SET clutch_id = excluded.clutch_id`;
  return (await tx.db.loanClutch.findUniqueOrThrow({ where: { clutchId }, select: { number: true } })).number;
}

/** What comes out of a lot of a loan's young is divided with it, while the lot is of both sides. */
export async function followLot(tx: Tx, fromId: string, toIds: readonly string[]): Promise<void> {
  await tx.db.$executeRaw`
    INSERT INTO loan_young (animal_id, clutch_id)
    SELECT t.id, of.clutch_id FROM (${stillOfBoth([fromId])}) of, unnest(${[...toIds]}::uuid[]) AS t (id)`;
}

/** Of records that both sides of a loan own, the clutch of which each is; others are left out. */
export async function clutchesOfYoung(tx: Tx, animalIds: readonly string[]): Promise<Map<string, string>> {
  const rows = await tx.db.$queryRaw<{ animalId: string; clutchId: string }[]>`
    SELECT of.animal_id AS "animalId", of.clutch_id AS "clutchId" FROM (${stillOfBoth(animalIds)}) of`;
  return new Map(rows.map(({ animalId, clutchId }) => [animalId, clutchId]));
}

function stillOfBoth(animalIds: readonly string[]): Prisma.Sql {
  return Prisma.sql`SELECT y.animal_id, y.clutch_id FROM loan_young y JOIN animal a ON a.id = y.animal_id
    JOIN loan_clutch lc ON lc.clutch_id = y.clutch_id JOIN transfer lo ON lo.id = lc.transfer_id
    WHERE a.id = ANY(${[...animalIds]}::uuid[]) AND ${OF_BOTH}`;
}

/** Of records those that are divided by turns and not picked yet, lots as well, with the clutch of which each is. */
export async function clutchesUnpicked(tx: Tx, animalIds: readonly string[]): Promise<Map<string, string>> {
  return readUnpicked(tx, Prisma.sql`y.animal_id = ANY(${[...animalIds]}::uuid[])`);
}

/** The young of a clutch that are divided by turns and not picked yet, lots as well. */
export async function findUnpicked(tx: Tx, clutchId: string): Promise<string[]> {
  return [...(await readUnpicked(tx, Prisma.sql`y.clutch_id = ${clutchId}::uuid`)).keys()];
}

/** Clutches of loans, given or taken by one of these keepers, of which young are not picked yet. */
export async function findOpenPicks(tx: Tx, keeperIds: readonly string[]): Promise<string[]> {
  const ids = [...keeperIds];
  const side = Prisma.sql`(lo.from_keeper_id = ANY(${ids}::uuid[]) OR lo.to_keeper_id = ANY(${ids}::uuid[]))`;
  return [...new Set((await readUnpicked(tx, side)).values())].sort();
}

async function readUnpicked(tx: Tx, where: Prisma.Sql): Promise<Map<string, string>> {
  const rows = await tx.db.$queryRaw<{ animalId: string; clutchId: string }[]>`
    SELECT y.animal_id AS "animalId", y.clutch_id AS "clutchId"
    FROM loan_young y JOIN animal a ON a.id = y.animal_id
    JOIN loan_clutch lc ON lc.clutch_id = y.clutch_id
    JOIN loan_terms lt ON lt.transfer_id = lc.transfer_id JOIN transfer lo ON lo.id = lc.transfer_id
    WHERE ${where} AND ${UNPICKED} ORDER BY y.animal_id`;
  return new Map(rows.map(({ animalId, clutchId }) => [animalId, clutchId]));
}

/** Everything that is on record as hatched in a clutch. */
export async function findYoungOfClutch(tx: Tx, clutchId: string): Promise<string[]> {
  const rows = await tx.db.hatching.findMany({
    where: { supersededAt: null, clutch: { originalId: clutchId } },
    select: { animalId: true },
  });
  return rows.map(({ animalId }) => animalId);
}

/** The clutches of a loan in their order, with their young counted. */
export async function readTallies(db: Db, loan: DividedLoan): Promise<ClutchTally[]> {
  const rows = await db.$queryRaw<
    (Omit<ClutchTally, 'picked' | 'eggsLeft'> & { pickedByLender: number; pickedByBorrower: number })[]
  >`
    SELECT lc.clutch_id AS "clutchId", lc.number,
      (count(*) FILTER (WHERE y.picked_by = 'lender'))::int AS "pickedByLender",
      (count(*) FILTER (WHERE y.picked_by = 'borrower'))::int AS "pickedByBorrower",
      (count(*) FILTER (WHERE ${UNDIVIDED}))::int AS undivided,
      (count(*) FILTER (WHERE a.kind = 'lot' AND a.fate = 'alive' AND a.count > 0 AND ${OF_BOTH}))::int AS lots
    FROM loan_clutch lc
    JOIN loan_terms lt ON lt.transfer_id = lc.transfer_id
    JOIN transfer lo ON lo.id = lc.transfer_id
    LEFT JOIN loan_young y ON y.clutch_id = lc.clutch_id
    LEFT JOIN animal a ON a.id = y.animal_id
    WHERE lc.transfer_id = ${loan.transferId}::uuid
    GROUP BY lc.clutch_id, lc.number ORDER BY lc.number`;
  const ids = rows.map(({ clutchId }) => clutchId);
  const hatching = await clutchesThatMayHatch(db, ids, [loan.lender, loan.borrower]);
  return rows.map(({ pickedByLender, pickedByBorrower, ...row }) => ({
    ...row,
    picked: { lender: pickedByLender, borrower: pickedByBorrower },
    eggsLeft: hatching.has(row.clutchId),
  }));
}

/** The named young of a clutch of a loan, in the order they are named; those that are none are left out. */
export async function readYoungNamed(tx: Tx, clutchId: string, animalIds: readonly string[]): Promise<PickedYoung[]> {
  const rows = await tx.db.$queryRaw<PickedYoung[]>`
    SELECT a.id AS "animalId", a.kind::text AS kind, a.fate = 'alive' AS alive, y.picked_by::text AS "pickedBy",
      ${OF_BOTH} AS "ofBoth",
      EXISTS (SELECT 1 FROM ownership o WHERE o.animal_id = a.id AND o.superseded_at IS NULL AND o.valid_to IS NULL
        AND o.state = 'disputed') AS disputed
    FROM loan_young y JOIN animal a ON a.id = y.animal_id
    JOIN loan_clutch lc ON lc.clutch_id = y.clutch_id JOIN transfer lo ON lo.id = lc.transfer_id
    WHERE y.clutch_id = ${clutchId}::uuid AND a.id = ANY(${[...animalIds]}::uuid[])
    ORDER BY array_position(${[...animalIds]}::uuid[], a.id)`;
  return rows;
}

/** Writes who picked which. */
export async function savePicks(
  tx: Tx,
  side: LoanSide,
  picks: readonly { readonly animalId: string; readonly number: number }[],
): Promise<void> {
  for (const { animalId, number } of picks) {
    await tx.db.loanYoung.update({
      where: { animalId },
      data: { pickedBy: side, pickNumber: number, pickedAt: tx.now },
    });
  }
}

/** One of the young as the sides of the loan read it. */
export type LoanYoungRow = {
  readonly animalId: string;
  readonly registerNumber: string;
  readonly kind: 'individual' | 'lot';
  readonly pickedBy: LoanSide | null;
  readonly pickNumber: number | null;
  readonly pickedOn: Day | null;
  /** Nobody has picked it, and a side can. */
  readonly undivided: boolean;
};

/** The young of a clutch of a loan in the order of their records, one more than asked where there is one. */
export async function readYoungPage(
  db: Db,
  of: { readonly transferId: string; readonly clutchId: string },
  first: number,
  after: string | null,
): Promise<LoanYoungRow[]> {
  const beyond = after === null ? Prisma.empty : Prisma.sql`AND a.id > ${after}::uuid`;
  const rows = await db.$queryRaw<(Omit<LoanYoungRow, 'pickedOn'> & { pickedOn: Date | null })[]>`
    SELECT a.id AS "animalId", a.register_number AS "registerNumber", a.kind::text AS kind,
      y.picked_by::text AS "pickedBy", y.pick_number AS "pickNumber",
      (y.picked_at AT TIME ZONE 'UTC')::date AS "pickedOn", ${UNDIVIDED} AS undivided
    FROM loan_young y JOIN animal a ON a.id = y.animal_id
    JOIN loan_clutch lc ON lc.clutch_id = y.clutch_id
    JOIN loan_terms lt ON lt.transfer_id = lc.transfer_id
    JOIN transfer lo ON lo.id = lc.transfer_id
    WHERE lc.transfer_id = ${of.transferId}::uuid AND lc.clutch_id = ${of.clutchId}::uuid ${beyond}
    ORDER BY a.id LIMIT ${first + 1}`;
  return rows.map((row) => ({ ...row, pickedOn: fromDateColumnOrNull(row.pickedOn) }));
}
