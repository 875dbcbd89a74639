import { type Db } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';

/** Generations of ancestors whose records are read; beyond, nothing counts as shown. */
export const MAX_GENERATIONS = 12;
/** Splits a lot is followed back over. */
const MAX_SPLITS = 5;

type Versioned = { readonly recordedAt: Date; readonly supersededAt: Date | null };

/** Filter for facts in force at a moment; null = now. */
export function inForceAt(at: Date | null) {
  if (at === null) return { supersededAt: null };
  return { recordedAt: { lte: at }, OR: [{ supersededAt: null }, { supersededAt: { gt: at } }] };
}

/** Whether a version was in force at a moment; null = now. */
export function wasInForce(version: Versioned, at: Date | null): boolean {
  if (at === null) return version.supersededAt === null;
  return version.recordedAt <= at && (version.supersededAt === null || version.supersededAt > at);
}

async function readClaims(db: Db, childIds: readonly string[], at: Date | null) {
  return db.parentageClaim.findMany({
    where: { childId: { in: [...childIds] }, ...inForceAt(at) },
    include: { candidates: { select: { parentId: true, probability: true } } },
    orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
  });
}

async function readHatchings(db: Db, animalIds: readonly string[], at: Date | null) {
  return db.hatching.findMany({
    where: { animalId: { in: [...animalIds] }, ...inForceAt(at) },
    orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
  });
}

/** Clutches by id and, where they were corrected, the versions that took their place. */
async function readClutches(db: Db, ids: readonly string[]) {
  const clutches = new Map<string, Awaited<ReturnType<typeof read>>[number]>();
  const read = (wanted: readonly string[]) => db.clutch.findMany({ where: { id: { in: [...wanted] } } });
  for (let wanted = [...new Set(ids)]; wanted.length > 0;) {
    const rows = await read(wanted);
    for (const row of rows) clutches.set(row.id, row);
    wanted = rows.flatMap((row) =>
      row.supersededBy === null || clutches.has(row.supersededBy) ? [] : [row.supersededBy],
    );
  }
  return clutches;
}

export type ClaimRow = Awaited<ReturnType<typeof readClaims>>[number];
export type HatchingRow = Awaited<ReturnType<typeof readHatchings>>[number];
export type ClutchRow = Awaited<ReturnType<typeof readClutches>> extends Map<string, infer Row> ? Row : never;

/** The recorded descent of some animals: who came out of which clutch, whose parents are stated, and from which lots they were split. */
export type OriginLine = {
  /** The animals and all their recorded ancestors. */
  readonly ids: readonly string[];
  readonly claims: ReadonlyMap<string, readonly ClaimRow[]>;
  readonly hatchings: ReadonlyMap<string, HatchingRow>;
  /** The version in force of the clutch behind each hatching. */
  readonly clutches: ReadonlyMap<string, ClutchRow>;
  /** The lots an animal was split from, nearest first. */
  readonly lots: ReadonlyMap<string, readonly string[]>;
};

/** Reads the line of some animals level by level; statements grow with its depth, not with its width. */
export async function readLine(db: Db, animalIds: readonly string[], at: Date | null): Promise<OriginLine> {
  const lots = await readLots(db, animalIds);
  const claims = new Map<string, ClaimRow[]>();
  const hatchings = new Map<string, HatchingRow>();
  const clutches = new Map<string, ClutchRow>();
  const seen = new Set([...animalIds, ...[...lots.values()].flat()]);
  let level = [...seen];
  for (let depth = 0; depth <= MAX_GENERATIONS && level.length > 0; depth++) {
    const [claimRows, hatchingRows] = [await readClaims(db, level, at), await readHatchings(db, level, at)];
    for (const [id, rows] of groupRows(claimRows, (row) => row.childId)) claims.set(id, rows);
    const versions = await readClutches(
      db,
      hatchingRows.map((row) => row.clutchId),
    );
    for (const row of hatchingRows) {
      hatchings.set(row.animalId, row);
      const clutch = versionAt(versions, row.clutchId, at);
      if (clutch !== null) clutches.set(row.id, clutch);
    }
    const parents = [
      ...claimRows.flatMap((row) => row.candidates.map((candidate) => candidate.parentId)),
      ...hatchingRows.flatMap((row) => clutches.get(row.id)?.damId ?? []),
    ];
    level = [...new Set(parents)].filter((id) => !seen.has(id));
    for (const id of level) seen.add(id);
  }
  return { ids: [...seen], claims, hatchings, clutches, lots };
}

function versionAt(versions: ReadonlyMap<string, ClutchRow>, id: string, at: Date | null): ClutchRow | null {
  for (
    let row = versions.get(id);
    row !== undefined;
    row = row.supersededBy === null ? undefined : versions.get(row.supersededBy)
  )
    if (wasInForce(row, at)) return row;
  return null;
}

/** The lots each animal was split from. What was recorded of them before the split is its own history. */
async function readLots(db: Db, animalIds: readonly string[]): Promise<Map<string, string[]>> {
  const from = new Map<string, string>();
  let level = [...animalIds];
  for (let step = 0; step < MAX_SPLITS && level.length > 0; step++) {
    const rows = await db.lotChange.findMany({
      where: { lotId: { in: level }, cause: 'split_in' },
      select: { lotId: true, counterpartId: true },
    });
    level = [];
    for (const { lotId, counterpartId } of rows) {
      if (counterpartId === null || from.has(lotId)) continue;
      from.set(lotId, counterpartId);
      level.push(counterpartId);
    }
  }
  const chain = (id: string): string[] => {
    const next = from.get(id);
    return next === undefined ? [] : [next, ...chain(next)];
  };
  return new Map(animalIds.map((id) => [id, chain(id)]));
}
