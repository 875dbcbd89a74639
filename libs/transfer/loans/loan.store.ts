import { fromDateColumn, toDateColumn } from '../../access/index.js';
import { type Day, type Viewer } from '../../kernel/index.js';
import { type Db, Prisma, type Tx } from '../../platform/prisma/index.js';
import { readTransfers, type VisibleTransfer, visibleTo } from '../store/transfer-row.js';
import { type LoanDayChange, type LoanState } from './loan-day.core.js';

type Reader = Pick<Db, '$queryRaw'>;

/** An animal, or so many of a lot, that died with the borrower. */
export type LoanDeath = { readonly animalId: string; readonly on: Day; readonly count: number };

/** What belongs to a loan and is no column of its transfer. */
export type LoanFacts = {
  readonly out: readonly string[];
  readonly days: readonly LoanDayChange[];
  readonly deaths: readonly LoanDeath[];
};

const ARRIVED = Prisma.sql`a.state::text NOT IN ('missing', 'refused')`;

/** The keeper who had the record `k` last, also when it was lost since. */
const LAST_KEEPER = Prisma.sql`(SELECT b.keeper_id FROM custody b
  WHERE b.animal_id = k.animal_id AND b.superseded_at IS NULL AND b.holder_kind::text = 'keeper'
  ORDER BY b.valid_from DESC, b.valid_to DESC NULLS FIRST, b.id DESC LIMIT 1)`;

/**
 * Begins a statement: `loan` are the loans that meet a condition on `t`; `lent` is what arrived, and what the borrower made of it
 * since: parts and individuals out of a lot, records merged into another; `out_record` is what of it is still the borrower's to
 * give back: with it, or lost or handed to an authority out of its keeping and not recorded dead, and the lender's, at least in part
 * or by one of two statements; a dispute of others is not its to read. What it came by again since is of that later transfer, which
 * its item with a later id tells: an animal is in one open transfer at a time.
 */
function lentRecords(where: Prisma.Sql): Prisma.Sql {
  return Prisma.sql`
    WITH RECURSIVE loan AS (
      SELECT t.id, t.state::text AS state, t.due_back, t.accepted_at, t.from_keeper_id, t.to_keeper_id
      FROM transfer t WHERE t.kind = 'breeding_loan' AND t.state IN ('accepted', 'sent', 'received') AND ${where}
    ), lent AS (
      SELECT l.id AS transfer_id, i.id AS item_id, i.animal_id, l.accepted_at, l.from_keeper_id AS lender, l.to_keeper_id AS borrower
      FROM loan l JOIN transfer_item i ON i.transfer_id = l.id
      WHERE EXISTS (SELECT FROM transfer_arrival a WHERE a.item_id = i.id AND ${ARRIVED})
      UNION
      SELECT p.transfer_id, p.item_id, g.animal_id, p.accepted_at, p.lender, p.borrower
      FROM lent p CROSS JOIN LATERAL (
        SELECT x.counterpart_id AS animal_id FROM lot_change x
        WHERE x.lot_id = p.animal_id AND x.cause IN ('split_out', 'raised_out', 'joined_out')
          AND x.counterpart_id IS NOT NULL AND x.recorded_at > p.accepted_at
          AND NOT EXISTS (SELECT FROM transfer_item j JOIN transfer u ON u.id = j.transfer_id
            JOIN transfer_arrival a ON a.item_id = j.id AND ${ARRIVED}
            JOIN custody h ON h.animal_id = j.animal_id AND h.arrival_ref = u.id
            WHERE j.animal_id = p.animal_id AND j.id > p.item_id AND h.recorded_at < x.recorded_at)
        UNION ALL
        SELECT m.merged_into_id FROM animal m WHERE m.id = p.animal_id AND m.merged_into_id IS NOT NULL) g
    ), kept AS (
      SELECT DISTINCT p.transfer_id, p.item_id, p.animal_id, p.accepted_at, p.borrower FROM lent p
      WHERE NOT EXISTS (SELECT FROM transfer_item j JOIN transfer_arrival a ON a.item_id = j.id AND ${ARRIVED}
          WHERE j.animal_id = p.animal_id AND j.id > p.item_id)
        AND (EXISTS (SELECT FROM ownership o JOIN ownership_share s ON s.ownership_id = o.id
            WHERE o.animal_id = p.animal_id AND o.superseded_at IS NULL AND o.valid_to IS NULL AND s.keeper_id = p.lender)
          OR EXISTS (SELECT FROM ownership_claim q JOIN ownership_claim_party y ON y.claim_id = q.id
            WHERE q.animal_id = p.animal_id AND q.ended_at IS NULL AND y.keeper_id = p.lender))
    ), out_record AS (
      SELECT DISTINCT k.transfer_id, k.animal_id FROM kept k
      JOIN animal m ON m.id = k.animal_id
      JOIN custody c ON c.animal_id = k.animal_id AND c.superseded_at IS NULL AND c.valid_to IS NULL
      WHERE c.keeper_id = k.borrower OR (m.fate::text NOT IN ('alive', 'dead') AND ${LAST_KEEPER} = k.borrower)
    )`;
}

/** Records of each loan that the borrower has to give back, see `lentRecords`, in the order of their ids. */
export async function findOut(db: Reader, transferIds: readonly string[]): Promise<Map<string, string[]>> {
  const rows = await db.$queryRaw<{ transferId: string; animalIds: string[] }[]>`
    ${lentRecords(Prisma.sql`t.id = ANY(${[...transferIds]}::uuid[])`)}
    SELECT transfer_id AS "transferId", array_agg(animal_id::text ORDER BY animal_id) AS "animalIds"
    FROM out_record GROUP BY transfer_id`;
  return new Map(rows.map(({ transferId, animalIds }) => [transferId, animalIds]));
}

/** Loans, given or taken by one of these keepers, of which something is still to be given back. In the order of their ids. */
export async function findOpenLoans(db: Reader, keeperIds: readonly string[]): Promise<string[]> {
  const ids = [...keeperIds];
  const rows = await db.$queryRaw<{ id: string }[]>`
    ${lentRecords(Prisma.sql`(t.from_keeper_id = ANY(${ids}::uuid[]) OR t.to_keeper_id = ANY(${ids}::uuid[]))`)}
    SELECT DISTINCT transfer_id AS id FROM out_record ORDER BY 1`;
  return rows.map(({ id }) => id);
}

/** What died with the borrower, or lost out of its keeping, after it had arrived; deaths on the way are of the receipt. In the order of their days. */
async function findDeaths(db: Reader, transferIds: readonly string[]): Promise<Map<string, LoanDeath[]>> {
  const rows = await db.$queryRaw<{ transferId: string; animalId: string; on: Date; count: number }[]>`
    ${lentRecords(Prisma.sql`t.id = ANY(${[...transferIds]}::uuid[])`)},
    dead_on_arrival AS (
      SELECT i.id AS item_id, i.animal_id, i.received_on, a.count
      FROM transfer_item i JOIN transfer_arrival a ON a.item_id = i.id AND a.state::text = 'dead'
    ), death AS (
      SELECT k.transfer_id, k.item_id, k.animal_id, c.valid_to AS happened_on, 1 AS count
      FROM kept k JOIN animal m ON m.id = k.animal_id AND m.kind::text = 'individual'
      JOIN custody c ON c.animal_id = k.animal_id AND c.superseded_at IS NULL AND c.left_by = 'died'
      WHERE ${LAST_KEEPER} = k.borrower
      UNION ALL
      SELECT k.transfer_id, k.item_id, k.animal_id, x.happened_on, -sum(x.delta)::int
      FROM lent k JOIN lot_change x ON x.lot_id = k.animal_id AND x.cause = 'died' AND x.superseded_at IS NULL
        AND x.recorded_at >= k.accepted_at
      -- Also of a lot that has gone home since: what died before stays told.
      WHERE NOT EXISTS (SELECT FROM transfer_item j JOIN custody h ON h.animal_id = j.animal_id AND h.arrival_ref = j.transfer_id
          WHERE j.animal_id = k.animal_id AND j.id > k.item_id AND h.recorded_at < x.recorded_at)
        AND EXISTS (SELECT FROM custody c WHERE c.animal_id = k.animal_id AND c.superseded_at IS NULL
          AND c.keeper_id = k.borrower AND x.happened_on BETWEEN c.valid_from AND coalesce(c.valid_to, x.happened_on))
        AND (EXISTS (SELECT FROM kept t WHERE (t.transfer_id, t.animal_id) = (k.transfer_id, k.animal_id))
          OR EXISTS (SELECT FROM ownership o JOIN ownership_share s ON s.ownership_id = o.id
            WHERE o.animal_id = k.animal_id AND o.superseded_at IS NULL AND s.keeper_id = k.lender
              AND x.happened_on BETWEEN o.valid_from AND coalesce(o.valid_to, x.happened_on)))
      GROUP BY 1, 2, 3, 4
    )
    SELECT d.transfer_id AS "transferId", d.animal_id AS "animalId", d.happened_on AS "on", (d.count - coalesce(e.count, 0))::int AS count
    FROM death d LEFT JOIN dead_on_arrival e
      ON e.item_id = d.item_id AND e.animal_id = d.animal_id AND e.received_on = d.happened_on
    WHERE d.count > coalesce(e.count, 0)
    ORDER BY d.transfer_id, d.happened_on, d.animal_id`;
  const deaths = rows.map(({ transferId, on, ...rest }) => [transferId, { ...rest, on: fromDateColumn(on) }] as const);
  return grouped(deaths);
}

/** Asks for another last day and recalls of each loan, in the order they were made. */
export async function findDays(db: Reader, transferIds: readonly string[]): Promise<Map<string, LoanDayChange[]>> {
  type Row = Omit<LoanDayChange, 'dueBack' | 'dueBackBefore'> & {
    transferId: string;
    dueBack: Date;
    dueBackBefore: Date;
  };
  const rows = await db.$queryRaw<Row[]>`
    SELECT e.id, e.transfer_id AS "transferId", e.asked_by::text AS "askedBy", e.asked_at AS "askedAt",
      e.due_back AS "dueBack", e.due_back_before AS "dueBackBefore", e.answered_at AS "answeredAt", e.outcome::text AS outcome
    FROM loan_extension e WHERE e.transfer_id = ANY(${[...transferIds]}::uuid[]) ORDER BY e.id`;
  return grouped(
    rows.map(({ transferId, dueBack, dueBackBefore, ...rest }) => [
      transferId,
      { ...rest, dueBack: fromDateColumn(dueBack), dueBackBefore: fromDateColumn(dueBackBefore) },
    ]),
  );
}

/** What belongs to loans, by the id of their transfer; of one the viewer was shown. */
export async function findLoanFacts(db: Reader, transferIds: readonly string[]): Promise<Map<string, LoanFacts>> {
  const [out, days, deaths] = [
    await findOut(db, transferIds),
    await findDays(db, transferIds),
    await findDeaths(db, transferIds),
  ];
  return new Map(
    transferIds.map((id) => [id, { out: out.get(id) ?? [], days: days.get(id) ?? [], deaths: deaths.get(id) ?? [] }]),
  );
}

/** Which loans of a keeper a page asks for; `states` null = all. */
export type LoanQuery = {
  readonly keeperId: string;
  readonly states: readonly LoanState[] | null;
  readonly today: Day;
  readonly first: number;
  readonly after: { readonly dueBack: Day; readonly id: string } | null;
};

/** Loans a keeper gives or takes, the one due first first; one more than the page asks for. Agrees with `loanStateOn`. */
export async function findLoanPage(db: Reader, viewer: Viewer, query: LoanQuery): Promise<VisibleTransfer[]> {
  const { keeperId, states, today, first, after } = query;
  const rows = await db.$queryRaw<{ id: string }[]>`
    ${lentRecords(Prisma.sql`${visibleTo(viewer)}
      AND (t.from_keeper_id = ${keeperId}::uuid OR t.to_keeper_id = ${keeperId}::uuid)`)},
    standing AS (
      SELECT l.id, l.due_back, CASE
        WHEN EXISTS (SELECT FROM out_record o WHERE o.transfer_id = l.id)
          THEN CASE WHEN l.due_back < ${toDateColumn(today)}::date THEN 'overdue' ELSE 'open' END
        WHEN l.state = 'received' THEN 'over' ELSE 'agreed' END AS standing
      FROM loan l)
    SELECT s.id FROM standing s
    WHERE (${states === null} OR s.standing = ANY(${[...(states ?? [])]}::text[]))
      AND (${after === null} OR (s.due_back, s.id) > (${after === null ? null : toDateColumn(after.dueBack)}::date, ${after?.id ?? null}::uuid))
    ORDER BY s.due_back, s.id LIMIT ${first + 1}`;
  if (rows.length === 0) return [];
  const ids = rows.map(({ id }) => id);
  return readTransfers(
    db,
    Prisma.sql`t.id = ANY(${ids}::uuid[]) AND ${visibleTo(viewer)}`,
    Prisma.sql`ORDER BY t.due_back, t.id`,
  );
}

/** The transfer of an ask; null when there is no such ask. Read nothing of it before `lock` has let it through. */
export async function findTransferOfAsk(tx: Tx, id: string): Promise<string | null> {
  const row = await tx.db.loanExtension.findUnique({ where: { id }, select: { transferId: true } });
  return row?.transferId ?? null;
}

/** Writes an ask, or a recall. */
export async function insertDay(tx: Tx, transferId: string, change: LoanDayChange): Promise<void> {
  const { dueBack, dueBackBefore, ...rest } = change;
  const days = { dueBack: toDateColumn(dueBack), dueBackBefore: toDateColumn(dueBackBefore) };
  await tx.db.loanExtension.create({ data: { transferId, ...rest, ...days } });
}

/** Writes how an ask ended. */
export async function saveDay(tx: Tx, { id, answeredAt, outcome }: LoanDayChange): Promise<void> {
  await tx.db.loanExtension.update({ where: { id }, data: { answeredAt, outcome } });
}

/** Moves the version of a locked loan on, and its last day where another one is in force now. */
export async function moveLoanOn(tx: Tx, transferId: string, dueBack: Day | null): Promise<void> {
  await tx.db.transfer.update({
    where: { id: transferId },
    data: { version: { increment: 1 }, ...(dueBack === null ? {} : { dueBack: toDateColumn(dueBack) }) },
  });
}

function grouped<T>(pairs: readonly (readonly [string, T])[]): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const [key, value] of pairs) groups.set(key, [...(groups.get(key) ?? []), value]);
  return groups;
}
