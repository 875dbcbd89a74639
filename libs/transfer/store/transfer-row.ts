import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { day, type Day, type Viewer } from '../../kernel/index.js';
import { type Db, Prisma } from '../../platform/prisma/index.js';
import { type LoanTerms } from '../loans/loan-terms.core.js';
import {
  type Countersigning,
  type Failure,
  type Instalment,
  type Payment,
  type Receiver,
  type Side,
  type Title,
  type Transfer,
  type TransferCondition,
  type TransferEgg,
  type TransferItem,
  type TransferKind,
  type TransferState,
} from '../core/transfer.core.js';

/** A transfer as one of its parties sees it: with the names of both. */
export type VisibleTransfer = { readonly transfer: Transfer; readonly fromLabel: string; readonly toLabel: string };

type ItemJson = Omit<TransferItem, 'receivedOn'> & { receivedOn: string | null };

type EggJson = Omit<TransferEgg, 'receivedOn'> & { receivedOn: string | null };

/** A row of `transfer` with its items and conditions. */
type TransferRow = {
  id: string;
  state: TransferState;
  kind: TransferKind;
  fromKeeperId: string;
  toKeeperId: string | null;
  toOutsidePartyId: string | null;
  message: string | null;
  priceMinor: bigint | null;
  priceCurrency: string | null;
  offeredAt: Date;
  acceptedAt: Date | null;
  sentOn: Date | null;
  receivedOn: Date | null;
  closedAt: Date | null;
  takenUpAt: Date | null;
  answerBy: Date | null;
  endedReason: string | null;
  cancelledBy: Side | null;
  failure: Failure['kind'] | null;
  failureDeclaredBy: Side | null;
  failureDeclaredAt: Date | null;
  way: Transfer['way'];
  transitRisk: Transfer['transitRisk'];
  carrier: string | null;
  tracking: string | null;
  title: Title;
  dueBack: Date | null;
  loanTerms: LoanTerms | null;
  paidUpOn: Date | null;
  instalments: (Omit<Instalment, 'dueOn'> & { dueOn: string })[];
  payments: (Omit<Payment, 'paidOn'> & { paidOn: string })[];
  version: number;
  items: ItemJson[];
  eggs: EggJson[];
  conditions: TransferCondition[];
  countersigning: (Omit<Countersigning, 'minorUntil'> & { minorUntil: string })[];
  fromLabel: string;
  toLabel: string;
};

/** The scope of every read of transfers: those who act for one of the two parties. Agrees with `maySee`. */
export function visibleTo(viewer: Viewer): Prisma.Sql {
  const ids = viewer.keepers.map((keeper) => keeper.keeperId);
  return Prisma.sql`(t.from_keeper_id = ANY(${ids}::uuid[]) OR t.to_keeper_id = ANY(${ids}::uuid[]))`;
}

/**
 * Transfers (`t`) that meet a condition, with all that belongs to them, the items in the order they were offered. One
 * statement, because every step of every transfer asks it. `tail` orders and limits.
 */
export async function readTransfers(
  db: Pick<Db, '$queryRaw'>,
  where: Prisma.Sql,
  tail: Prisma.Sql = Prisma.empty,
): Promise<VisibleTransfer[]> {
  const rows = await db.$queryRaw<TransferRow[]>`
    SELECT t.id, t.state::text AS state, t.kind::text AS kind, t.from_keeper_id AS "fromKeeperId",
      t.to_keeper_id AS "toKeeperId", t.to_outside_party_id AS "toOutsidePartyId", t.message,
      t.price_minor AS "priceMinor", t.price_currency AS "priceCurrency", t.offered_at AS "offeredAt",
      t.accepted_at AS "acceptedAt", t.sent_on AS "sentOn", t.received_on AS "receivedOn", t.closed_at AS "closedAt",
      t.taken_up_at AS "takenUpAt", t.answer_by AS "answerBy", t.ended_reason AS "endedReason",
      t.cancelled_by::text AS "cancelledBy", t.failure::text AS failure,
      t.failure_declared_by::text AS "failureDeclaredBy", t.failure_declared_at AS "failureDeclaredAt",
      t.way::text AS way, t.transit_risk::text AS "transitRisk", t.carrier, t.tracking, t.version,
      t.title::text AS title, t.due_back AS "dueBack", t.paid_up_on AS "paidUpOn",
      (SELECT jsonb_build_object('recallDays', l.recall_days, 'keepCosts', l.keep_costs, 'vetCosts', l.vet_costs,
          'onDeath', l.on_death, 'youngBredBy', l.young_bred_by,
          'value', CASE WHEN l.value_minor IS NOT NULL
            THEN jsonb_build_object('minor', l.value_minor, 'currency', l.value_currency) END,
          'youngSplit', CASE WHEN l.split_method IS NOT NULL
            THEN jsonb_build_object('method', l.split_method, 'lenderParts', l.lender_parts, 'ofParts', l.of_parts,
              'firstPick', l.first_pick, 'oddOne', l.odd_one) END)
        FROM loan_terms l WHERE l.transfer_id = t.id) AS "loanTerms",
      (SELECT coalesce(jsonb_agg(jsonb_build_object('dueOn', p.due_on, 'minor', p.minor) ORDER BY p.number), '[]')
        FROM transfer_instalment p WHERE p.transfer_id = t.id) AS instalments,
      (SELECT coalesce(jsonb_agg(jsonb_build_object('id', p.id, 'minor', p.minor, 'paidOn', p.paid_on, 'state', p.state,
          'note', p.note, 'answerNote', p.answer_note) ORDER BY p.id), '[]')
        FROM transfer_payment p WHERE p.transfer_id = t.id) AS payments,
      (SELECT coalesce(jsonb_agg(jsonb_build_object('side', p.side, 'minorUntil', p.minor_until, 'signed', EXISTS (
          SELECT FROM transfer_countersignature s
          WHERE s.transfer_id = t.id AND s.side::text = p.side AND s.voided_at IS NULL)) ORDER BY p.side), '[]')
        FROM (VALUES ('giver', f.minor_until), ('receiver', k.minor_until)) AS p(side, minor_until)
        WHERE p.minor_until IS NOT NULL) AS countersigning,
      f.name AS "fromLabel", coalesce(k.name, o.name, '') AS "toLabel",
      (SELECT coalesce(jsonb_agg(jsonb_build_object('id', c.id, 'kind', c.kind, 'documentKind', c.document_kind,
          'text', c.text, 'settledAs', c.settled_as) ORDER BY c.id), '[]')
        FROM transfer_condition c WHERE c.transfer_id = t.id) AS conditions,
      (SELECT coalesce(jsonb_agg(jsonb_build_object('id', i.id, 'animalId', i.animal_id, 'count', i.count,
          'receivedOn', i.received_on, 'notSent', i.not_sent, 'gravid', i.gravid, 'note', i.note,
          'titleDue', i.title_due, 'share', CASE WHEN i.share_of IS NOT NULL
            THEN jsonb_build_object('parts', i.share_parts, 'of', i.share_of) END,
          'arrivals', (SELECT coalesce(jsonb_agg(jsonb_build_object('state', a.state, 'count', a.count)
            ORDER BY a.state), '[]') FROM transfer_arrival a WHERE a.item_id = i.id),
          'photoFileIds', (SELECT coalesce(jsonb_agg(p.file_id ORDER BY p.file_id), '[]')
            FROM transfer_arrival_photo p WHERE p.item_id = i.id)) ORDER BY i.id), '[]')
        FROM transfer_item i WHERE i.transfer_id = t.id) AS items,
      (SELECT coalesce(jsonb_agg(jsonb_build_object('eggId', x.egg_id, 'clutchId', g.clutch_id, 'number', g.number,
          'arrival', x.arrival, 'receivedOn', x.received_on, 'notSent', x.not_sent) ORDER BY g.clutch_id, g.number), '[]')
        FROM transfer_egg x JOIN egg g ON g.id = x.egg_id WHERE x.transfer_id = t.id) AS eggs
    FROM transfer t
    JOIN keeper f ON f.id = t.from_keeper_id
    LEFT JOIN keeper k ON k.id = t.to_keeper_id
    LEFT JOIN outside_party o ON o.id = t.to_outside_party_id
    WHERE ${where} ${tail}`;
  return rows.map((row) => ({ transfer: toTransfer(row), fromLabel: row.fromLabel, toLabel: row.toLabel }));
}

/** The transfer a row stands for. Throws Error for a row whose columns do not fit its state. */
function toTransfer(row: TransferRow): Transfer {
  const terms = {
    id: row.id,
    kind: row.kind,
    fromKeeperId: row.fromKeeperId,
    receiver: toReceiver(row),
    message: row.message,
    price:
      row.priceMinor === null || row.priceCurrency === null
        ? null
        : { minor: Number(row.priceMinor), currency: row.priceCurrency },
    offeredAt: row.offeredAt,
    takenUpAt: row.takenUpAt,
    answerBy: fromDateColumnOrNull(row.answerBy),
    conditions: row.conditions,
    countersigning: row.countersigning.map((each) => ({ ...each, minorUntil: day(each.minorUntil) })),
    way: row.way,
    transitRisk: row.transitRisk,
    carrier: row.carrier,
    tracking: row.tracking,
    endedReason: row.endedReason,
    title: row.title,
    dueBack: fromDateColumnOrNull(row.dueBack),
    loanTerms: row.loanTerms,
    paidUpOn: fromDateColumnOrNull(row.paidUpOn),
    instalments: row.instalments.map(({ dueOn, minor }) => ({ dueOn: day(dueOn), minor })),
    payments: row.payments.map((payment) => ({ ...payment, paidOn: day(payment.paidOn) })),
    eggs: row.eggs.map((egg) => ({ ...egg, receivedOn: egg.receivedOn === null ? null : day(egg.receivedOn) })),
    items: row.items.map((item) => ({ ...item, receivedOn: item.receivedOn === null ? null : day(item.receivedOn) })),
    version: row.version,
  };
  const { state } = row;
  switch (state) {
    case 'offered':
      return { ...terms, state };
    case 'accepted':
      return { ...terms, state, acceptedAt: told(row, row.acceptedAt) };
    case 'sent':
      return { ...terms, ...sentFacts(row), state, failure: toFailure(row) };
    case 'received':
      return { ...terms, ...sentFacts(row), state, receivedOn: dayTold(row, row.receivedOn), ...closing(row) };
    case 'declined':
    case 'withdrawn':
      return { ...terms, state, acceptedAt: row.acceptedAt, ...closing(row) };
    case 'expired':
      return { ...terms, state, ...closing(row) };
    case 'cancelled':
      return {
        ...terms,
        state,
        acceptedAt: told(row, row.acceptedAt),
        cancelledBy: told(row, row.cancelledBy),
        ...closing(row),
      };
    case 'failed':
      return { ...terms, ...sentFacts(row), state, failure: told(row, toFailure(row)), ...closing(row) };
  }
}

function sentFacts(row: TransferRow): { acceptedAt: Date; sentOn: Day } {
  return { acceptedAt: told(row, row.acceptedAt), sentOn: dayTold(row, row.sentOn) };
}

function closing(row: TransferRow): { closedAt: Date } {
  return { closedAt: told(row, row.closedAt) };
}

function toFailure(row: TransferRow): Failure | null {
  const { failure: kind, failureDeclaredBy: declaredBy, failureDeclaredAt: declaredAt } = row;
  return kind === null || declaredBy === null || declaredAt === null ? null : { kind, declaredBy, declaredAt };
}

function toReceiver(row: TransferRow): Receiver {
  if (row.toKeeperId !== null) return { kind: 'keeper', keeperId: row.toKeeperId };
  return { kind: 'outside_party', outsidePartyId: told(row, row.toOutsidePartyId) };
}

function told<T>(row: TransferRow, value: T | null): T {
  if (value === null) throw new Error(`Transfer ${row.id} is ${row.state} but lacks what this state needs.`);
  return value;
}

function dayTold(row: TransferRow, value: Date | null): Day {
  return fromDateColumn(told(row, value));
}
