import { v7 as uuid } from 'uuid';
import { fromDateColumn, fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Enclosure, toEnclosure } from './housing-read.store.js';

/** A stay in force. */
export type StoredStay = {
  readonly id: string;
  readonly animalId: string;
  readonly enclosureId: string;
  /** Whose enclosure it is. */
  readonly keeperId: string;
  readonly enclosureName: string;
  readonly from: Day;
  readonly to: Day | null;
};

/** Adds an enclosure and gives its id. */
export async function insertEnclosure(tx: Tx, enclosure: Omit<Enclosure, 'id'>): Promise<string> {
  const id = uuid();
  const { controlledSince: since, ...columns } = enclosure;
  await tx.db.enclosure.create({
    data: { id, ...columns, controlledSince: since === null ? null : toDateColumn(since), createdAt: tx.now },
  });
  return id;
}

/** Changes how an enclosure is called and where it stands. Whether it is controlled is no matter of words and stays. */
export async function updateEnclosure(
  tx: Tx,
  id: string,
  change: Partial<Pick<Enclosure, 'name' | 'setting' | 'room'>>,
): Promise<void> {
  await tx.db.enclosure.update({ where: { id }, data: change });
}

/** The enclosure, inside a transaction; null when none of the keepers has it. */
export async function findOwnEnclosure(tx: Tx, keeperIds: readonly string[], id: string): Promise<Enclosure | null> {
  const row = await tx.db.enclosure.findFirst({ where: { id, keeperId: { in: [...keeperIds] } } });
  return row === null ? null : toEnclosure(row);
}

/** Locks an enclosure against other writers that ask for the lock too. After animals, which come first in the order of locks. */
export async function lockEnclosure(tx: Tx, id: string): Promise<void> {
  await tx.db.$queryRaw`SELECT id FROM enclosure WHERE id = ${id}::uuid FOR NO KEY UPDATE`;
}

/** All stays in force of each animal, by animal, in the order of their days. Call `lockAnimals` first. */
export async function staysOf(tx: Tx, animalIds: readonly string[]): Promise<Map<string, StoredStay[]>> {
  const rows = await tx.db.placement.findMany({
    where: { animalId: { in: [...animalIds] }, supersededAt: null },
    include: { enclosure: { select: { keeperId: true, name: true } } },
    orderBy: [{ validFrom: 'asc' }, { id: 'asc' }],
  });
  const stays = new Map<string, StoredStay[]>();
  for (const row of rows) stays.set(row.animalId, [...(stays.get(row.animalId) ?? []), toStay(row)]);
  return stays;
}

/** A stay in force, by id, or null. */
export async function findStay(tx: Tx, id: string): Promise<StoredStay | null> {
  const row = await tx.db.placement.findFirst({
    where: { id, supersededAt: null },
    include: { enclosure: { select: { keeperId: true, name: true } } },
  });
  return row === null ? null : toStay(row);
}

type StayRow = {
  id: string;
  animalId: string;
  enclosureId: string;
  validFrom: Date;
  validTo: Date | null;
  enclosure: { keeperId: string; name: string };
};

function toStay(row: StayRow): StoredStay {
  return {
    id: row.id,
    animalId: row.animalId,
    enclosureId: row.enclosureId,
    keeperId: row.enclosure.keeperId,
    enclosureName: row.enclosure.name,
    from: fromDateColumn(row.validFrom),
    to: fromDateColumnOrNull(row.validTo),
  };
}

/** Days in an enclosure to be written. */
export type NewStay = {
  readonly animalId: string;
  readonly enclosureId: string;
  readonly from: Day;
  readonly to: Day | null;
};

/** Writes a stay and gives its id. EXCLUDE has the last word: PLACEMENT_OVERLAPS. */
export async function insertStay(tx: Tx, stay: NewStay): Promise<string> {
  const row = stayRow(tx, stay);
  await tx.db.placement.create({ data: row });
  return row.id;
}

/** Replaces a stay in force by another, or by nothing (null), with the reason; the history is kept. Gives the new one's id. */
export async function supersedeStay(tx: Tx, id: string, by: NewStay | null, reason: string): Promise<string | null> {
  const row = by === null ? null : stayRow(tx, by);
  // The old row gives its days free first: the constraint looks at every row in force.
  await tx.db.placement.update({
    where: { id },
    data: { supersededAt: tx.now, supersededBy: row?.id ?? null, reason },
  });
  if (row !== null) await tx.db.placement.create({ data: row });
  return row?.id ?? null;
}

/** Reason written on a stay that ended because its record was merged into another. */
export const MERGED = 'Its record was merged into another one.';

/** The stays in force that a merge ended for the one record and began for the other; null where there is none, or it was changed since. */
export async function findMovedStays(
  tx: Tx,
  merge: { readonly keepId: string; readonly mergedId: string; readonly mergedAt: Date },
): Promise<{ ended: StoredStay | null; begun: StoredStay | null }> {
  const { keepId, mergedId, mergedAt } = merge;
  const of = { supersededAt: mergedAt, animalId: mergedId, reason: MERGED };
  const before = await tx.db.placement.findFirst({ where: of, select: { supersededBy: true } });
  const ended = before === null ? null : await findStay(tx, before.supersededBy ?? '');
  if (ended === null) return { ended, begun: null };
  const { enclosureId } = ended;
  const row = await tx.db.placement.findFirst({
    where: { animalId: keepId, enclosureId, recordedAt: mergedAt, validTo: null, supersededAt: null },
    select: { id: true },
  });
  return { ended, begun: row === null ? null : await findStay(tx, row.id) };
}

function stayRow(tx: Tx, stay: NewStay) {
  return {
    id: uuid(),
    animalId: stay.animalId,
    enclosureId: stay.enclosureId,
    validFrom: toDateColumn(stay.from),
    validTo: stay.to === null ? null : toDateColumn(stay.to),
    recordedAt: tx.now,
    recordedBy: tx.actorId ?? stay.animalId,
  };
}

/** The first day on which the keeper ever had each animal, by animal; one the keeper never had is missing. */
export async function firstHeld(tx: Tx, keeperId: string, animalIds: readonly string[]): Promise<Map<string, Day>> {
  const rows = await tx.db.custody.groupBy({
    by: ['animalId'],
    where: { animalId: { in: [...animalIds] }, keeperId, supersededAt: null },
    _min: { validFrom: true },
  });
  return new Map(
    rows.flatMap((row) => (row._min.validFrom === null ? [] : [[row.animalId, fromDateColumn(row._min.validFrom)]])),
  );
}

/**
 * Animals and lots in the enclosure now, each with the quarantine group it is in, or null. Quarantine stands above housing in
 * the order of contexts, so its table is read here and nothing of it is decided.
 */
export async function residentsInQuarantine(tx: Tx, enclosureId: string): Promise<Map<string, string | null>> {
  const rows = await tx.db.$queryRaw<{ animal_id: string; group_id: string | null }[]>`
    SELECT p.animal_id, q.group_id FROM placement p JOIN animal a ON a.id = p.animal_id AND a.count > 0
    LEFT JOIN quarantine_entry q ON q.animal_id = p.animal_id AND q.left_on IS NULL
    WHERE p.enclosure_id = ${enclosureId}::uuid AND p.superseded_at IS NULL AND p.valid_to IS NULL`;
  return new Map(rows.map((row) => [row.animal_id, row.group_id]));
}
