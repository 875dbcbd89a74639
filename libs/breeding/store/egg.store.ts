import { v7 as uuid } from 'uuid';
import { type When } from '../../animal/index.js';
import { type Db, type Tx } from '../../platform/prisma/index.js';
import { type Candling, type EggEvent, type EggEventKind } from '../core/egg.core.js';
import { recorded, spanOf, whenColumns, whenOf } from './when-columns.js';

/** What an event says besides its kind and day. */
export type EggEventDetails = {
  readonly enclosureId: string | null;
  readonly incubator: string | null;
  readonly celsius: number | null;
  readonly candling: Candling | null;
};

export type NewEggEvent = EggEventDetails & {
  /** The first version of the clutch. */
  readonly clutchId: string;
  /** Null = every egg that was left. */
  readonly eggId: string | null;
  /** For whom it is recorded; null = the keeper of the clutch. */
  readonly keeperId: string | null;
  readonly kind: EggEventKind;
  readonly when: When | null;
};

export type StoredEggEvent = EggEvent &
  EggEventDetails & {
    readonly clutchId: string;
    readonly eggId: string | null;
    /** Null = every egg that was left. */
    readonly eggNumber: number | null;
    readonly keeperId: string | null;
    readonly written: When | null;
    readonly recordedAt: Date;
    readonly supersededAt: Date | null;
  };

/** The eggs of a clutch with these numbers, made where nothing was recorded of them before, as number → id. Lock the clutch first. */
export async function ensureEggs(tx: Tx, clutchId: string, numbers: readonly number[]): Promise<Map<number, string>> {
  const known = await tx.db.egg.findMany({ where: { clutchId, number: { in: [...numbers] } } });
  const ids = new Map(known.map((egg) => [egg.number, egg.id]));
  const missing = [...new Set(numbers)].filter((number) => !ids.has(number));
  const rows = missing.map((number) => ({ id: uuid(), clutchId, number, createdAt: tx.now }));
  await tx.db.egg.createMany({ data: rows });
  for (const row of rows) ids.set(row.number, row.id);
  return ids;
}

/** Adds events and gives their ids in the same order. */
export async function insertEggEvents(tx: Tx, events: readonly NewEggEvent[]): Promise<string[]> {
  const rows = events.map(({ when, ...columns }) => ({
    id: uuid(),
    ...columns,
    ...whenColumns(when),
    ...recorded(tx, columns.clutchId),
  }));
  await tx.db.eggEvent.createMany({ data: rows });
  return rows.map((row) => row.id);
}

/** Replaces an event in force by another of the same kind and egg, or by nothing (null), with the reason. Gives the new id. */
export async function supersedeEggEvent(
  tx: Tx,
  id: string,
  by: NewEggEvent | null,
  reason: string,
): Promise<string | null> {
  const [newId] = by === null ? [null] : await insertEggEvents(tx, [by]);
  await tx.db.eggEvent.update({
    where: { id },
    data: { supersededAt: tx.now, supersededBy: newId ?? null, reason },
  });
  return newId ?? null;
}

/** An event in force, or null. */
export async function findEggEvent(tx: Tx, id: string): Promise<StoredEggEvent | null> {
  const row = await tx.db.eggEvent.findFirst({ where: { id, supersededAt: null }, include: EGG });
  return row === null ? null : toEvent(row);
}

/**
 * The event in force by which an egg hatched, where a hatching wrote it, also if it was put right since; null where somebody recorded it
 * by itself, and while more than `young` of the egg are recorded.
 */
export async function findHatchedWith(tx: Tx, eggId: string, young: number): Promise<string | null> {
  const rows = await tx.db.$queryRaw<{ id: string }[]>`
    WITH RECURSIVE version AS (
      SELECT id AS last, id, recorded_at FROM egg_event
      WHERE egg_id = ${eggId}::uuid AND kind = 'hatched' AND superseded_at IS NULL
      UNION ALL
      SELECT v.last, e.id, e.recorded_at FROM version v JOIN egg_event e ON e.egg_id = ${eggId}::uuid AND e.superseded_by = v.id
    )
    SELECT v.last AS id FROM version v JOIN hatching h ON h.egg_id = ${eggId}::uuid AND h.recorded_at = v.recorded_at
    WHERE (SELECT count(*) FROM hatching o WHERE o.egg_id = ${eggId}::uuid AND o.superseded_at IS NULL) <= ${young} LIMIT 1`;
  return rows[0]?.id ?? null;
}

/** Events in force of a clutch, named by its first version. */
export async function eggEventsOf(tx: Tx, clutchId: string): Promise<StoredEggEvent[]> {
  return (await readEggEvents(tx.db, [clutchId])).filter((event) => event.supersededAt === null);
}

/** All events of clutches, superseded ones too, in the order they were recorded. For loaders that cut them to what is shown. */
export async function readEggEvents(db: Db, clutchIds: readonly string[]): Promise<StoredEggEvent[]> {
  const rows = await db.eggEvent.findMany({
    where: { clutchId: { in: [...clutchIds] } },
    include: EGG,
    orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
  });
  return rows.map(toEvent);
}

/** Eggs that something is recorded of, with the young that came out of each. */
export async function readEggs(
  db: Db,
  clutchIds: readonly string[],
): Promise<
  {
    id: string;
    clutchId: string;
    number: number;
    young: { animalId: string; recordedAt: Date; supersededAt: Date | null }[];
  }[]
> {
  const rows = await db.egg.findMany({
    where: { clutchId: { in: [...clutchIds] } },
    include: {
      hatchings: { select: { animalId: true, recordedAt: true, supersededAt: true }, orderBy: { id: 'asc' } },
    },
    orderBy: { number: 'asc' },
  });
  return rows.map(({ id, clutchId, number, hatchings }) => ({ id, clutchId, number, young: hatchings }));
}

const EGG = { egg: { select: { number: true } } };

type EventRow = {
  id: string;
  clutchId: string;
  eggId: string | null;
  keeperId: string | null;
  kind: EggEventKind;
  enclosureId: string | null;
  incubator: string | null;
  celsius: { toNumber(): number } | null;
  candling: Candling | null;
  edtf: string | null;
  earliest: Date | null;
  latest: Date | null;
  recordedAt: Date;
  supersededAt: Date | null;
  egg: { number: number } | null;
};

function toEvent(row: EventRow): StoredEggEvent {
  return {
    id: row.id,
    clutchId: row.clutchId,
    eggId: row.eggId,
    eggNumber: row.egg?.number ?? null,
    keeperId: row.keeperId,
    kind: row.kind,
    wholeClutch: row.eggId === null,
    when: spanOf(row),
    written: whenOf(row),
    recorded: row.recordedAt.getTime(),
    recordedAt: row.recordedAt,
    supersededAt: row.supersededAt,
    enclosureId: row.enclosureId,
    incubator: row.incubator,
    celsius: row.celsius?.toNumber() ?? null,
    candling: row.candling,
  };
}
