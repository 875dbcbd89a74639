import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { type Db, Prisma } from '../../platform/prisma/index.js';

/** Which stays: those in enclosures of these keepers, on days from `from` (null = ever) to `until`, both included, as recorded at a moment (null = now). */
export type StayFilter = {
  readonly keeperIds: readonly string[];
  readonly from: Day | null;
  readonly until: Day;
  readonly knownAt: Date | null;
};

/** A stay in an own enclosure on the half-open days [from, to). */
export type StayOnRecord = {
  readonly id: string;
  readonly animalId: string;
  readonly enclosureId: string;
  readonly from: Day;
  readonly to: Day | null;
};

/** Days on which two animals were in one own enclosure. */
export type SharedStay = {
  readonly animalId: string;
  readonly companionId: string;
  readonly enclosureId: string;
  readonly from: Day;
  readonly to: Day | null;
};

/**
 * Stays in force, cut to the days on which the enclosure's keeper had the animal: what nobody ended does not outlast a
 * hand-over or a death. `which` narrows them by placement (`p`).
 */
function stays({ keeperIds, from, until, knownAt }: StayFilter, which: Prisma.Sql): Prisma.Sql {
  const inForce = (alias: string) => {
    const at = Prisma.raw(alias);
    return knownAt === null
      ? Prisma.sql`${at}.superseded_at IS NULL`
      : Prisma.sql`${at}.recorded_at <= ${knownAt}::timestamptz AND (${at}.superseded_at IS NULL OR ${at}.superseded_at > ${knownAt}::timestamptz)`;
  };
  return Prisma.sql`
    SELECT p.id, p.animal_id, p.enclosure_id, greatest(p.valid_from, c.valid_from) AS first, least(p.valid_to, c.valid_to) AS last
    FROM placement p JOIN enclosure e ON e.id = p.enclosure_id AND e.keeper_id = ANY(${[...keeperIds]}::uuid[])
    JOIN custody c ON c.animal_id = p.animal_id AND c.keeper_id = e.keeper_id AND ${inForce('c')}
      AND daterange(p.valid_from, p.valid_to) && daterange(c.valid_from, c.valid_to)
    WHERE ${which} AND ${inForce('p')}
      AND daterange(greatest(p.valid_from, c.valid_from), least(p.valid_to, c.valid_to)) && daterange(${from}::date, ${until}::date, '[]')`;
}

/** Stays of these animals, or (`enclosureIds`) in these enclosures, in the order of their days. */
export async function readStays(
  db: Pick<Db, '$queryRaw'>,
  filter: StayFilter & ({ readonly animalIds: readonly string[] } | { readonly enclosureIds: readonly string[] }),
): Promise<StayOnRecord[]> {
  const which =
    'animalIds' in filter
      ? Prisma.sql`p.animal_id = ANY(${[...filter.animalIds]}::uuid[])`
      : Prisma.sql`p.enclosure_id = ANY(${[...filter.enclosureIds]}::uuid[])`;
  const rows = await db.$queryRaw<
    { id: string; animal_id: string; enclosure_id: string; first: Date; last: Date | null }[]
  >`SELECT * FROM (${stays(filter, which)}) s ORDER BY first, animal_id, id`;
  return rows.map((row) => ({
    id: row.id,
    animalId: row.animal_id,
    enclosureId: row.enclosure_id,
    from: fromDateColumn(row.first),
    to: fromDateColumnOrNull(row.last),
  }));
}

/** Who was in one enclosure with each of the animals, and when, in the order of the days. Two statements' worth of rows in one. */
export async function sharedStays(
  db: Pick<Db, '$queryRaw'>,
  filter: StayFilter & { readonly animalIds: readonly string[] },
): Promise<SharedStay[]> {
  const ids = [...filter.animalIds];
  const own = stays(filter, Prisma.sql`p.animal_id = ANY(${ids}::uuid[])`);
  const around = stays(
    filter,
    Prisma.sql`p.enclosure_id IN (SELECT o.enclosure_id FROM placement o WHERE o.animal_id = ANY(${ids}::uuid[]))`,
  );
  const rows = await db.$queryRaw<
    { animal_id: string; companion_id: string; enclosure_id: string; first: Date; last: Date | null }[]
  >`
    SELECT a.animal_id, b.animal_id AS companion_id, a.enclosure_id, greatest(a.first, b.first) AS first, least(a.last, b.last) AS last
    FROM (${own}) a JOIN (${around}) b ON b.enclosure_id = a.enclosure_id AND b.animal_id <> a.animal_id
      AND daterange(a.first, a.last) && daterange(b.first, b.last)
    WHERE daterange(greatest(a.first, b.first), least(a.last, b.last)) && daterange(${filter.from}::date, ${filter.until}::date, '[]')
    ORDER BY first, companion_id, a.animal_id`;
  return rows.map((row) => ({
    animalId: row.animal_id,
    companionId: row.companion_id,
    enclosureId: row.enclosure_id,
    from: fromDateColumn(row.first),
    to: fromDateColumnOrNull(row.last),
  }));
}
