import { type Db, Prisma } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { inForceAt } from './origin-line.store.js';

const MARKS = ['transponder', 'other_chip', 'ring', 'tag', 'notch', 'photo', 'photo_documentation', 'feature'];

/** What stands in the records of some animals and their ancestors, by animal. */
export type OriginFacts = Awaited<ReturnType<typeof readOriginFacts>>;

/** Reads everything that is weighed: ten statements, however many animals. `ids` are all of the line, `asked` with their lots. */
export async function readOriginFacts(db: Db, ids: readonly string[], asked: readonly string[], at: Date | null) {
  const all = [...ids];
  const some = [...asked];
  const order = [{ recordedAt: 'asc' as const }, { id: 'asc' as const }];
  const animals = await db.animal.findMany({
    where: { id: { in: some } },
    select: { id: true, registerNumber: true, taxonId: true },
  });
  const taxa = await db.taxon.findMany({
    where: { id: { in: [...new Set(animals.map((animal) => animal.taxonId))] } },
    select: { id: true, profile: true },
  });
  const facts = await db.animalFact.findMany({
    where: { animalId: { in: all }, kind: { in: ['birth', 'origin', 'acquisition'] }, ...inForceAt(at) },
    orderBy: order,
  });
  const matings = await db.mating.findMany({ where: { damId: { in: all }, ...inForceAt(at) }, orderBy: order });
  const papers = await db.documentCover.findMany({
    where: { animalId: { in: all }, document: { kind: { in: ['permit', 'certificate'] }, ...inForceAt(at) } },
    include: { document: { select: { recordedAt: true } } },
    orderBy: { id: 'asc' },
  });
  const versions = await db.animalMark.findMany({
    where: { animalId: { in: some }, kind: { in: MARKS }, ...(at === null ? {} : { recordedAt: { lte: at } }) },
    orderBy: order,
  });
  // A mark that ended since was recorded when it was recorded; one whose number was corrected, when it was corrected.
  const firstTold = new Map<string, Date>();
  const told = (row: (typeof versions)[number]): string => `${row.seriesId} ${row.kind} ${row.value}`;
  for (const row of versions) if (!firstTold.has(told(row))) firstTold.set(told(row), row.recordedAt);
  const marks = versions
    .filter(({ supersededAt }) => supersededAt === null || (at !== null && supersededAt > at))
    .map((row) => ({ ...row, recordedAt: firstTold.get(told(row)) ?? row.recordedAt }));
  // Superseded versions too: a period that was closed later was first recorded when it began.
  const custody = await db.custody.findMany({
    where: { animalId: { in: some }, ...(at === null ? {} : { recordedAt: { lte: at } }) },
    orderBy: [{ validFrom: 'asc' }, ...order],
  });
  return {
    animals: new Map(animals.map((animal) => [animal.id, animal])),
    profiles: new Map(taxa.map((taxon) => [taxon.id, taxon.profile])),
    facts: groupRows(facts, (row) => row.animalId),
    matings: groupRows(matings, (row) => row.damId),
    stays: groupRows(await readStays(db, all, at), (row) => row.animal_id),
    papers: groupRows(papers, (row) => row.animalId ?? ''),
    marks: groupRows(marks, (row) => row.animalId),
    custody: groupRows(custody, (row) => row.animalId),
    parties: await readParties(db, some, at),
  };
}

/** Stays in enclosures of the keeper who had the animal at the time; a stay nobody ended does not outlast the hand-over. */
async function readStays(db: Db, animalIds: readonly string[], at: Date | null) {
  return db.$queryRaw<
    { animal_id: string; from: Date; to: Date | null; controlled: 'yes' | 'no' | 'unknown'; since: Date | null }[]
  >`
    SELECT p.animal_id, greatest(p.valid_from, c.valid_from) AS "from", least(p.valid_to, c.valid_to) AS "to",
           e.controlled::text AS controlled, e.controlled_since AS since
    FROM placement p JOIN enclosure e ON e.id = p.enclosure_id
    JOIN custody c ON c.animal_id = p.animal_id AND c.keeper_id = e.keeper_id AND c.superseded_at IS NULL
      AND daterange(p.valid_from, p.valid_to) && daterange(c.valid_from, c.valid_to)
    WHERE p.animal_id = ANY(${[...animalIds]}::uuid[])
      AND (${at}::timestamptz IS NULL OR p.recorded_at <= ${at}::timestamptz)
      AND (p.superseded_at IS NULL OR p.superseded_at > ${at}::timestamptz)
    ORDER BY p.animal_id, p.valid_from`;
}

/**
 * Keepers who have or had each animal or a share of it, and keepers who share an account with one of them. Those of the moment
 * (null = now), so that a finding of the past does not tell who got the animal since.
 */
async function readParties(db: Db, animalIds: readonly string[], at: Date | null): Promise<Map<string, string[]>> {
  const ids = [...animalIds];
  const party =
    at === null
      ? Prisma.sql`SELECT animal_id, keeper_id FROM animal_access
          WHERE animal_id = ANY(${ids}::uuid[]) AND relation IN ('holder', 'owner')`
      : Prisma.sql`SELECT animal_id, keeper_id FROM custody
          WHERE animal_id = ANY(${ids}::uuid[]) AND keeper_id IS NOT NULL AND ${wasInForceAt(at)}
          UNION
          SELECT animal_id, s.keeper_id FROM ownership o JOIN ownership_share s ON s.ownership_id = o.id
          WHERE animal_id = ANY(${ids}::uuid[]) AND s.keeper_id IS NOT NULL AND ${wasInForceAt(at)}`;
  const joined = Prisma.sql`(${at}::timestamptz IS NULL OR other.since <= ${at}::timestamptz)`;
  const rows = await db.$queryRaw<{ animal_id: string; keeper_id: string }[]>`
    WITH party AS (${party})
    SELECT animal_id, keeper_id FROM party
    UNION
    SELECT p.animal_id, other.keeper_id FROM party p
    JOIN keeper_member m ON m.keeper_id = p.keeper_id JOIN keeper_member other ON other.account_id = m.account_id AND ${joined}`;
  const groups = groupRows(rows, (row) => row.animal_id);
  return new Map([...groups].map(([id, group]) => [id, group.map((row) => row.keeper_id)]));
}

const wasInForceAt = (at: Date): Prisma.Sql =>
  Prisma.sql`recorded_at <= ${at}::timestamptz AND (superseded_at IS NULL OR superseded_at > ${at}::timestamptz)`;
