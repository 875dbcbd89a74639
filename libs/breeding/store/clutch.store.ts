import { v7 as uuid } from 'uuid';
import { fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type When } from '../../animal/index.js';
import { type Day, dayOf, type DaySpan } from '../../kernel/index.js';
import { type Db, type Tx } from '../../platform/prisma/index.js';
import { parseTaxonProfile } from '../../taxon/index.js';
import { type BreedingBounds } from '../core/bounds.core.js';
import { type KnownAnswer } from '../core/breeding.core.js';
import { type ClutchLikeness, layingSpan } from '../core/clutch.core.js';
import { type Candidate } from '../core/parent-candidates.core.js';
import { recorded, whenColumns, whenOf } from './when-columns.js';

export type ClutchKind = 'eggs' | 'born';

/** What is recorded of a clutch. */
export type NewClutch = {
  readonly kind: ClutchKind;
  /** One with probability 1 where the dam is certain. */
  readonly dams: readonly Candidate[];
  readonly enclosureId: string | null;
  readonly eggCount: number | null;
  readonly controlled: KnownAnswer;
  readonly laid: When | null;
  readonly foundOn: Day | null;
  readonly keeperId: string;
};

/** The version of a clutch in force. `originalId` is the first version's id, which eggs and hatchings name. */
export type ClutchFacts = NewClutch & {
  readonly id: string;
  readonly originalId: string;
  readonly recordedAt: Date;
  /** When the first version was: a clutch of an unknown day was laid before that, whatever is corrected of it later. */
  readonly firstRecordedAt: Date;
};

/** What `toClutch` takes with a row. */
export const WHOLE_CLUTCH = { candidates: true, original: { select: { recordedAt: true } } } as const;

/** The version in force of the clutch that any version's id names; null when there is none, or it was taken back. */
export async function findClutch(db: Db, id: string): Promise<ClutchFacts | null> {
  return (await findClutches(db, [id])).get(id) ?? null;
}

/** The same of several, by the ids they were asked for with. */
export async function findClutches(db: Db, ids: readonly string[]): Promise<Map<string, ClutchFacts>> {
  const named = await db.clutch.findMany({ where: { id: { in: [...ids] } }, select: { id: true, originalId: true } });
  const rows = await db.clutch.findMany({
    where: { originalId: { in: named.map(({ originalId }) => originalId) }, supersededAt: null },
    include: WHOLE_CLUTCH,
  });
  const current = new Map(rows.map((row) => [row.originalId, toClutch(row)]));
  return new Map(
    named.flatMap(({ id, originalId }) => {
      const clutch = current.get(originalId);
      return clutch === undefined ? [] : [[id, clutch] as const];
    }),
  );
}

/** Whose clutch it is, also of one that was taken back, and its first version. */
export async function findClutchEver(db: Db, id: string): Promise<Pick<ClutchFacts, 'keeperId' | 'originalId'> | null> {
  return db.clutch.findUnique({ where: { id }, select: { keeperId: true, originalId: true } });
}

/** Locks a clutch and everything that hangs on it against other writers; after animals in the order of locks. Gives it as it is now. */
export async function lockClutch(tx: Tx, originalId: string): Promise<ClutchFacts | null> {
  await tx.db.$queryRaw`SELECT id FROM clutch WHERE id = ${originalId}::uuid FOR NO KEY UPDATE`;
  return findClutch(tx.db, originalId);
}

/** Adds a clutch and gives its id. */
export async function insertClutch(tx: Tx, clutch: NewClutch): Promise<string> {
  const id = uuid();
  await insertVersion(tx, id, id, clutch);
  return id;
}

/** Replaces the version in force by another, or by nothing (null), with the reason. Gives the new version's id. */
export async function supersedeClutch(
  tx: Tx,
  clutch: ClutchFacts,
  by: NewClutch | null,
  reason: string,
): Promise<string | null> {
  const id = by === null ? null : uuid();
  await tx.db.clutch.update({ where: { id: clutch.id }, data: { supersededAt: tx.now, supersededBy: id, reason } });
  if (by !== null && id !== null) await insertVersion(tx, id, clutch.originalId, by);
  return id;
}

async function insertVersion(tx: Tx, id: string, originalId: string, clutch: NewClutch): Promise<void> {
  const { kind, dams, enclosureId, eggCount, controlled, laid, foundOn, keeperId } = clutch;
  const [only, ...others] = dams;
  await tx.db.clutch.create({
    data: {
      id,
      originalId,
      kind,
      enclosureId,
      eggCount,
      controlled,
      keeperId,
      damId: others.length === 0 ? (only?.id ?? null) : null,
      foundOn: foundOn === null ? null : toDateColumn(foundOn),
      ...whenColumns(laid),
      ...recorded(tx, keeperId),
    },
  });
  if (others.length > 0) {
    await tx.db.clutchDam.createMany({
      data: dams.map((dam) => ({ clutchId: id, damId: dam.id, probability: dam.probability })),
    });
  }
}

/** A clutch with what else is known of its days, for telling it from another. */
export function likenessOf(clutch: ClutchFacts): ClutchLikeness {
  const { originalId: id, dams, enclosureId, laid, foundOn, firstRecordedAt } = clutch;
  return {
    id,
    damIds: dams.map((dam) => dam.id),
    enclosureId,
    laid: layingSpan(laid, foundOn, dayOf(firstRecordedAt)),
  };
}

/** Clutches in force of any of the dams, or in the enclosure. */
export async function clutchesAround(
  tx: Tx,
  damIds: readonly string[],
  enclosureId: string | null,
): Promise<ClutchFacts[]> {
  const ids = [...damIds];
  const rows = await tx.db.clutch.findMany({
    where: {
      supersededAt: null,
      OR: [
        { damId: { in: ids } },
        { candidates: { some: { damId: { in: ids } } } },
        ...(enclosureId === null ? [] : [{ enclosureId }]),
      ],
    },
    include: WHOLE_CLUTCH,
    orderBy: { id: 'asc' },
  });
  return rows.map(toClutch);
}

/** The days of laying of each certain dam's clutches in force, with what the finding adds, and the days on which young of each came out. */
export async function clutchDays(
  db: Db,
  damIds: readonly string[],
): Promise<Map<string, { originalId: string; laid: DaySpan; hatched: DaySpan | null }[]>> {
  const rows = await db.clutch.findMany({
    where: { damId: { in: [...damIds] }, supersededAt: null },
    orderBy: { id: 'asc' },
  });
  const hatchings = await db.hatching.findMany({
    where: { supersededAt: null, clutch: { originalId: { in: rows.map((row) => row.originalId) } } },
    include: { clutch: { select: { originalId: true } } },
    orderBy: [{ earliest: 'asc' }, { id: 'asc' }],
  });
  const first = new Map<string, DaySpan>();
  for (const row of hatchings)
    if (!first.has(row.clutch.originalId)) {
      const [earliest, latest] = [fromDateColumnOrNull(row.earliest), fromDateColumnOrNull(row.latest)];
      first.set(row.clutch.originalId, { earliest, latest });
    }
  const days = new Map<string, { originalId: string; laid: DaySpan; hatched: DaySpan | null }[]>();
  for (const row of rows) {
    const found = fromDateColumnOrNull(row.foundOn);
    const earliest = fromDateColumnOrNull(row.earliest);
    const laid = { earliest, latest: fromDateColumnOrNull(row.latest) ?? found };
    const damId = row.damId ?? '';
    const entry = { originalId: row.originalId, laid, hatched: first.get(row.originalId) ?? null };
    days.set(damId, [...(days.get(damId) ?? []), entry]);
  }
  return days;
}

/** What breeding reads of the taxon's profile. */
export async function readBounds(db: Db, taxonId: string): Promise<BreedingBounds> {
  const row = await db.taxon.findUnique({ where: { id: taxonId }, select: { profile: true } });
  return parseTaxonProfile(row?.profile ?? {});
}

type ClutchRow = {
  id: string;
  originalId: string;
  kind: ClutchKind;
  damId: string | null;
  enclosureId: string | null;
  eggCount: number | null;
  controlled: KnownAnswer;
  edtf: string | null;
  earliest: Date | null;
  latest: Date | null;
  foundOn: Date | null;
  keeperId: string;
  recordedAt: Date;
  original: { recordedAt: Date };
  candidates: readonly { damId: string; probability: { toNumber(): number } }[];
};

/** A stored clutch as decisions know it. */
export function toClutch(row: ClutchRow): ClutchFacts {
  return {
    id: row.id,
    originalId: row.originalId,
    kind: row.kind,
    dams: damsOf(row),
    enclosureId: row.enclosureId,
    eggCount: row.eggCount,
    controlled: row.controlled,
    laid: whenOf(row),
    foundOn: fromDateColumnOrNull(row.foundOn),
    keeperId: row.keeperId,
    recordedAt: row.recordedAt,
    firstRecordedAt: row.original.recordedAt,
  };
}

/** The dam with certainty, or the candidates, most probable first. */
export function damsOf(row: Pick<ClutchRow, 'damId' | 'candidates'>): Candidate[] {
  if (row.damId !== null) return [{ id: row.damId, probability: 1 }];
  return row.candidates
    .map((each) => ({ id: each.damId, probability: each.probability.toNumber() }))
    .toSorted((a, b) => b.probability - a.probability || (a.id < b.id ? -1 : 1));
}

/**
 * Clutches of which an egg was in an enclosure once, by their first versions, where eggs can be left: the whole clutch is not
 * said to have ended, and no young came out of an egg that is not named. `hatched`: some young are recorded.
 */
export async function clutchesOnceIn(tx: Tx, enclosureId: string): Promise<{ originalId: string; hatched: boolean }[]> {
  return tx.db.$queryRaw<{ originalId: string; hatched: boolean }[]>`
    SELECT c.original_id AS "originalId", EXISTS (SELECT 1 FROM hatching h JOIN clutch v ON v.id = h.clutch_id
      WHERE v.original_id = c.original_id AND h.superseded_at IS NULL) AS hatched
    FROM clutch c
    WHERE c.superseded_at IS NULL AND c.kind = 'eggs'
      AND (c.enclosure_id = ${enclosureId}::uuid OR EXISTS (SELECT 1 FROM egg_event e
        WHERE e.clutch_id = c.original_id AND e.enclosure_id = ${enclosureId}::uuid AND e.superseded_at IS NULL))
      AND NOT EXISTS (SELECT 1 FROM egg_event e WHERE e.clutch_id = c.original_id AND e.egg_id IS NULL
        AND e.superseded_at IS NULL AND e.kind IN ('infertile', 'failed', 'hatched'))
      AND NOT EXISTS (SELECT 1 FROM hatching h JOIN clutch v ON v.id = h.clutch_id
        WHERE v.original_id = c.original_id AND h.superseded_at IS NULL AND h.egg_id IS NULL)
    ORDER BY c.original_id`;
}

/** The taxon of a clutch: that of its dams, who are all of one; null where none is named. */
export async function taxonOf(db: Db, clutch: Pick<NewClutch, 'dams'>): Promise<string | null> {
  const [dam] = clutch.dams;
  if (dam === undefined) return null;
  const row = await db.animal.findUnique({ where: { id: dam.id }, select: { taxonId: true } });
  return row?.taxonId ?? null;
}
