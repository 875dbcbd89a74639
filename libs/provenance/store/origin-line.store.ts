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

/** Merges in force at a moment: the records that were merged into each of these, and the one that each of these goes on as. */
export type Merges = {
  readonly into: ReadonlyMap<string, readonly string[]>;
  readonly keptOf: ReadonlyMap<string, string>;
};

async function readMerges(db: Db, ids: readonly string[], at: Date | null): Promise<Merges> {
  const either = [{ keepId: { in: [...ids] } }, { mergedId: { in: [...ids] } }];
  const rows = await db.recordMerge.findMany({
    where: { AND: [{ OR: either }, inForceAt(at)] },
    select: { keepId: true, mergedId: true },
    orderBy: { id: 'asc' },
  });
  const groups = groupRows(rows, (row) => row.keepId);
  return {
    into: new Map([...groups].map(([id, group]) => [id, group.map((row) => row.mergedId)])),
    keptOf: new Map(rows.map((row) => [row.mergedId, row.keepId])),
  };
}

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
  readonly merges: Merges;
};

/** Reads the line of some animals in a handful of statements, however wide it is. */
export async function readLine(db: Db, animalIds: readonly string[], at: Date | null): Promise<OriginLine> {
  const own = await readMerges(db, animalIds, at);
  const records = [...new Set([...animalIds, ...animalIds.flatMap((id) => own.into.get(id) ?? [])])];
  const lots = await readLots(db, records);
  const ids = await readLineUp(db, [...new Set([...records, ...[...lots.values()].flat()])]);
  const merges = await readMerges(db, ids, at);
  const claims = await readClaims(db, ids, at);
  const hatchings = await readHatchings(db, ids, at);
  const versions = await readClutches(
    db,
    hatchings.map((row) => row.clutchId),
  );
  const clutches = new Map<string, ClutchRow>();
  for (const row of hatchings) {
    const clutch = versionAt(versions, row.clutchId, at);
    if (clutch !== null) clutches.set(row.id, clutch);
  }
  return {
    ids,
    claims: groupRows(claims, (row) => row.childId),
    hatchings: new Map(hatchings.map((row) => [row.animalId, row])),
    clutches,
    lots,
    merges,
  };
}

/** The animals and every ancestor that any version of their records ever named, each with all records ever merged with it. */
async function readLineUp(db: Db, animalIds: readonly string[]): Promise<string[]> {
  const rows = await db.$queryRaw<{ id: string }[]>`
    WITH RECURSIVE up (id, depth) AS (
      SELECT unnest(${[...animalIds]}::uuid[]), 0
      UNION
      SELECT step.id, step.depth FROM up u CROSS JOIN LATERAL (
        SELECT p.parent_id AS id, u.depth + 1 AS depth FROM parentage_claim c JOIN parent_candidate p ON p.claim_id = c.id
        WHERE c.child_id = u.id
        UNION ALL
        SELECT k.dam_id, u.depth + 1 FROM hatching h JOIN clutch v ON v.id = h.clutch_id JOIN clutch k ON k.original_id = v.original_id
        WHERE h.animal_id = u.id AND k.dam_id IS NOT NULL
        UNION ALL
        SELECT m.merged_id, u.depth FROM record_merge m WHERE m.keep_id = u.id
        UNION ALL
        SELECT m.keep_id, u.depth FROM record_merge m WHERE m.merged_id = u.id
      ) step WHERE step.depth <= ${MAX_GENERATIONS}
    ) SELECT DISTINCT id FROM up`;
  return rows.map((row) => row.id);
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

/** The lots each animal was split from or raised out of. What was recorded of them before the split is its own history. */
async function readLots(db: Db, animalIds: readonly string[]): Promise<Map<string, string[]>> {
  const from = new Map<string, string>();
  let level = [...animalIds];
  for (let step = 0; step < MAX_SPLITS && level.length > 0; step++) {
    const split = await db.lotChange.findMany({
      where: { lotId: { in: level }, cause: 'split_in' },
      select: { lotId: true, counterpartId: true },
    });
    const raised = await db.custody.findMany({
      where: { animalId: { in: level }, arrivedBy: 'raised' },
      select: { animalId: true, arrivalRef: true },
    });
    const rows = [
      ...split,
      ...raised.map(({ animalId: lotId, arrivalRef: counterpartId }) => ({ lotId, counterpartId })),
    ];
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
