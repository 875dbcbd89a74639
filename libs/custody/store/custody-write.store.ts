import { v7 as uuid } from 'uuid';
import {
  closeAccess,
  fromDateColumn,
  fromDateColumnOrNull,
  type Grant,
  moveAccess,
  openAccess,
  toDateColumn,
} from '../../access/index.js';
import { type Day, decide, type Decision, refuse } from '../../kernel/index.js';
import { inserting, insertRows, type Tx } from '../../platform/prisma/index.js';
import { type Arrival, type Departure, type Holder, sameHolder } from '../core/holder.core.js';

/** The period in force of an animal that somebody has now. */
export type OpenCustody = {
  readonly id: string;
  readonly animalId: string;
  readonly holder: Holder;
  readonly from: Day;
  readonly arrivedBy: Arrival;
};

type CustodyRow = {
  id: string;
  animalId: string;
  holderKind: Holder['kind'];
  keeperId: string | null;
  outsidePartyId: string | null;
  validFrom: Date;
  validTo: Date | null;
  arrivedBy: string;
  leftBy: string | null;
  arrivalRef: string | null;
  departureRef: string | null;
};

/** The holder of a custody row. Throws for a row the database's own check refuses. */
export function holderOf(row: Pick<CustodyRow, 'holderKind' | 'keeperId' | 'outsidePartyId'>): Holder {
  if (row.holderKind === 'keeper' && row.keeperId !== null) return { kind: 'keeper', keeperId: row.keeperId };
  if (row.holderKind === 'outside_party' && row.outsidePartyId !== null)
    return { kind: 'outside_party', outsidePartyId: row.outsidePartyId };
  if (row.holderKind === 'keeper' || row.holderKind === 'outside_party')
    throw new Error('A custody row does not name its holder.');
  return { kind: row.holderKind };
}

/** Columns that say who holds. */
export function holderColumns(holder: Holder) {
  return {
    holderKind: holder.kind,
    keeperId: holder.kind === 'keeper' ? holder.keeperId : null,
    outsidePartyId: holder.kind === 'outside_party' ? holder.outsidePartyId : null,
  };
}

/** Who has each of the animals now, by animal id; an animal that nobody has any more is missing. Call `lockAnimals` first. */
export async function currentCustody(tx: Tx, animalIds: readonly string[]): Promise<Map<string, OpenCustody>> {
  return new Map((await openRows(tx, animalIds)).map((row) => [row.animalId, toOpen(row)]));
}

async function openRows(tx: Tx, animalIds: readonly string[]): Promise<CustodyRow[]> {
  return tx.db.$queryRaw<CustodyRow[]>`
    SELECT id, animal_id AS "animalId", holder_kind::text AS "holderKind", keeper_id AS "keeperId",
      outside_party_id AS "outsidePartyId", valid_from AS "validFrom", valid_to AS "validTo", arrived_by AS "arrivedBy",
      left_by AS "leftBy", arrival_ref AS "arrivalRef", departure_ref AS "departureRef"
    FROM custody WHERE animal_id = ANY(${[...animalIds]}::uuid[]) AND superseded_at IS NULL AND valid_to IS NULL`;
}

/** Gives an animal that nobody has its holder from `from` on, with access to its record. */
export async function begin(tx: Tx, period: Begun): Promise<void> {
  await insertRows(tx.db, 'custody', [begunRow(tx, period)]);
  await openAccess(tx, holderGrants(period.animalId, period.holder), period.from);
}

type Begun = { animalId: string; holder: Holder; from: Day; arrivedBy: Arrival; ref?: string | null };

function begunRow(tx: Tx, period: Begun) {
  return {
    id: uuid(),
    animalId: period.animalId,
    ...holderColumns(period.holder),
    validFrom: toDateColumn(period.from),
    validTo: null,
    arrivedBy: period.arrivedBy,
    leftBy: null,
    arrivalRef: period.ref ?? null,
    departureRef: null,
    recordedAt: tx.now,
    recordedBy: recorder(tx, period.holder, period.animalId),
  };
}

/**
 * Moves a locked animal from whoever has it to `to`. The day `on` belongs to the receiver; the giver keeps reading what was
 * recorded until now. Refuses CUSTODY_NOT_OPEN when nobody has it, CUSTODY_SAME_HOLDER, CUSTODY_DAY_TOO_EARLY before the
 * giver had it, DAY_IN_FUTURE. Ownership is apart: `setOwners`.
 */
export async function handOver(
  tx: Tx,
  move: { animalId: string; to: Holder; on: Day; leftBy: Departure; arrivedBy: Arrival; ref?: string | null },
): Promise<Decision<null>> {
  const { animalId, to, on, arrivedBy, ref = null } = move;
  const [row] = await openRows(tx, [animalId]);
  if (row !== undefined && sameHolder(holderOf(row), to))
    return refuse('CUSTODY_SAME_HOLDER', 'The animal is with this holder already.');
  const closing = mayClose(tx, animalId, row, on);
  if (!closing.ok) return closing;
  const ended = { validTo: toDateColumn(on), leftBy: move.leftBy, departureRef: ref };
  await supersede(tx, closing.value, ended, uuid(), [begunRow(tx, { animalId, holder: to, from: on, arrivedBy, ref })]);
  const access = { close: holderGrants(animalId, holderOf(closing.value)), open: holderGrants(animalId, to) };
  await moveAccess(tx, access, on);
  return decide(null);
}

/**
 * The animal is no longer with whoever has it, and lives: from `on` it is with an authority, or nobody knows where. Who had it
 * last keeps full access to the record, as after a death. Refuses as `handOver` does.
 */
export async function lose(
  tx: Tx,
  loss: { animalId: string; to: Holder; on: Day; leftBy: Departure; arrivedBy: Arrival },
): Promise<Decision<null>> {
  const open = (await currentCustody(tx, [loss.animalId])).get(loss.animalId);
  if (open !== undefined && sameHolder(open.holder, loss.to)) return decide(null);
  const closed = await close(tx, loss.animalId, { on: loss.on, leftBy: loss.leftBy, ref: null });
  if (!closed.ok) return closed;
  await begin(tx, { animalId: loss.animalId, holder: loss.to, from: loss.on, arrivedBy: loss.arrivedBy });
  return decide(null);
}

/**
 * An animal that was gone is with a keeper again. Whoever had it before and has it no more reads what was recorded until now.
 * Does nothing where a keeper has it anyway. Refuses as `handOver` does.
 */
export async function regain(tx: Tx, gain: { animalId: string; keeperId: string; on: Day }): Promise<Decision<null>> {
  const { animalId, keeperId, on } = gain;
  const open = (await currentCustody(tx, [animalId])).get(animalId);
  if (open?.holder.kind === 'keeper') return decide(null);
  const back = open?.holder.kind === 'unknown' ? ('found' as const) : ('returned' as const);
  const moved = await handOver(tx, { animalId, to: { kind: 'keeper', keeperId }, on, leftBy: back, arrivedBy: back });
  if (!moved.ok) return moved;
  const before = await tx.db.animalAccess.findMany({
    where: { animalId, relation: 'holder', validTo: null, keeperId: { not: keeperId } },
    select: { animalId: true, keeperId: true },
  });
  await closeAccess(
    tx,
    before.map((grant) => ({ ...grant, relation: 'holder' as const })),
    on,
  );
  return decide(null);
}

/** Takes the end of custody by a death back, or moves it to another day. Refuses CUSTODY_DAY_TOO_EARLY, DAY_IN_FUTURE. */
export async function correctDeathDay(tx: Tx, animalId: string, on: Day | null): Promise<Decision<null>> {
  const row = await tx.db.custody.findFirst({
    where: { animalId, supersededAt: null, leftBy: 'died' },
    orderBy: [{ validFrom: 'desc' }, { id: 'desc' }],
  });
  if (row === null) return refuse('CUSTODY_NOT_OPEN', 'Nobody had this animal when it died.');
  if (on === null) {
    await supersede(tx, row, { validTo: null, leftBy: null, departureRef: null });
    return decide(null);
  }
  if (on > tx.today) return refuse('DAY_IN_FUTURE', `${on} is still to come.`);
  const from = fromDateColumn(row.validFrom);
  if (on < from) return refuse('CUSTODY_DAY_TOO_EARLY', `The holder had this animal only since ${from}.`);
  await supersede(tx, row, { validTo: toDateColumn(on) });
  return decide(null);
}

/**
 * Ends custody for good: the animal died, or the lot was used up. The last holder keeps full access to the record. Refuses
 * as `handOver` does.
 */
export async function end(
  tx: Tx,
  ending: { animalId: string; on: Day; leftBy: Departure; ref?: string | null },
): Promise<Decision<null>> {
  const closed = await close(tx, ending.animalId, { on: ending.on, leftBy: ending.leftBy, ref: ending.ref ?? null });
  return closed;
}

/**
 * Takes back the end of custody of a merged record: whoever had it has it again, without a gap. Its access was never closed.
 * Call it only for a record whose last period ended as `merged`.
 */
export async function reopenMerged(tx: Tx, animalId: string): Promise<void> {
  const row = await tx.db.custody.findFirstOrThrow({
    where: { animalId, supersededAt: null, leftBy: 'merged' },
    orderBy: [{ validFrom: 'desc' }, { id: 'desc' }],
  });
  await supersede(tx, row, { validTo: null, leftBy: null, departureRef: null });
}

async function close(
  tx: Tx,
  animalId: string,
  ending: { on: Day; leftBy: Departure; ref: string | null },
): Promise<Decision<null>> {
  const [row] = await openRows(tx, [animalId]);
  const closing = mayClose(tx, animalId, row, ending.on);
  if (!closing.ok) return closing;
  const { on, leftBy, ref } = ending;
  await supersede(tx, closing.value, { validTo: toDateColumn(on), leftBy, departureRef: ref });
  return decide(null);
}

/** Gives the period in force when it can end on a day. */
function mayClose(tx: Tx, animalId: string, row: CustodyRow | undefined, on: Day): Decision<CustodyRow> {
  const blockers = [{ kind: 'animal', id: animalId, remedy: 'Read its record again.' }];
  if (row === undefined) return refuse('CUSTODY_NOT_OPEN', 'Nobody has this animal any more.', { blockers });
  if (on > tx.today) return refuse('DAY_IN_FUTURE', `${on} is still to come.`, { blockers });
  const since = fromDateColumn(row.validFrom);
  if (on < since)
    return refuse('CUSTODY_DAY_TOO_EARLY', `The present holder has had this animal only since ${since}.`, { blockers });
  return decide(row);
}

/**
 * Replaces a row by one that differs in `changes`, and adds what follows on it: what was recorded before stays readable as
 * superseded. One statement; the old row steps back before the new ones are made, because the exclusion constraint looks at
 * rows in force at once, not at commit.
 */
export async function supersede(
  tx: Tx,
  row: CustodyRow,
  changes: Partial<Omit<CustodyRow, 'id' | 'animalId'>>,
  id = uuid(),
  following: readonly ReturnType<typeof begunRow>[] = [],
): Promise<void> {
  const kept = {
    animalId: row.animalId,
    holderKind: row.holderKind,
    keeperId: row.keeperId,
    outsidePartyId: row.outsidePartyId,
    validFrom: row.validFrom,
    validTo: row.validTo,
    arrivedBy: row.arrivedBy,
    leftBy: row.leftBy,
    arrivalRef: row.arrivalRef,
    departureRef: row.departureRef,
  };
  const instead = {
    ...kept,
    ...changes,
    id,
    recordedAt: tx.now,
    recordedBy: recorder(tx, holderOf(row), row.animalId),
  };
  const written = await tx.db.$executeRaw`
    WITH back AS (
      UPDATE custody SET superseded_at = ${tx.now}, superseded_by = ${id}::uuid WHERE id = ${row.id}::uuid RETURNING id)
    ${inserting('custody', [instead, ...following])} WHERE EXISTS (SELECT FROM back)`;
  if (written !== 1 + following.length) throw new Error('A period of custody to be replaced is not there.');
}

function toOpen(row: CustodyRow): OpenCustody {
  return {
    id: row.id,
    animalId: row.animalId,
    holder: holderOf(row),
    from: fromDateColumn(row.validFrom),
    arrivedBy: row.arrivedBy as Arrival,
  };
}

/** A past or present period as days. */
export function daysOf(row: Pick<CustodyRow, 'validFrom' | 'validTo'>): { from: Day; to: Day | null } {
  return { from: fromDateColumn(row.validFrom), to: fromDateColumnOrNull(row.validTo) };
}

export function holderGrants(animalId: string, holder: Holder): Grant[] {
  return holder.kind === 'keeper' ? [{ animalId, keeperId: holder.keeperId, relation: 'holder' }] : [];
}

/** Rows name who recorded them; where the server acts by itself, the holder concerned stands in. */
function recorder(tx: Tx, holder: Holder, animalId: string): string {
  return tx.actorId ?? (holder.kind === 'keeper' ? holder.keeperId : animalId);
}
