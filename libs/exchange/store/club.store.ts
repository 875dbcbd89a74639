import { type Day, dayOf } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/** A club with the keepers that are its members today, in the order of their ids. */
export type ClubKeepers = { readonly id: string; readonly keeperIds: readonly string[] };

/** The club with a short name, locked so that two loads into it come one after the other; null when there is none. */
export async function lockClub(tx: Tx, slug: string): Promise<ClubKeepers | null> {
  const [club] = await tx.db.$queryRaw<{ id: string }[]>`SELECT id FROM club WHERE slug = ${slug} FOR NO KEY UPDATE`;
  if (club === undefined) return null;
  const members = await tx.db.clubMember.findMany({
    where: { clubId: club.id, leftOn: null },
    select: { keeperId: true },
    orderBy: { keeperId: 'asc' },
  });
  return { id: club.id, keeperIds: members.map(({ keeperId }) => keeperId) };
}

/** Short names of some clubs, for a message to somebody who named none of them. */
export async function someClubs(tx: Tx): Promise<string[]> {
  const clubs = await tx.db.club.findMany({ select: { slug: true }, orderBy: { slug: 'asc' }, take: 8 });
  return clubs.map(({ slug }) => slug);
}

/** The day on which a file with this content was loaded into the club, or null. The ledger is what remembers it. */
export async function findEarlierLoad(
  tx: Tx,
  action: string,
  clubId: string,
  contentHash: string,
): Promise<Day | null> {
  const entries = await tx.db.ledgerEntry.findMany({
    where: { action, subjects: { has: clubId }, body: { contains: `"contentHash":"${contentHash}"` } },
    select: { at: true },
    take: 1,
  });
  const [entry] = entries;
  return entry === undefined ? null : dayOf(entry.at);
}

/** Id of the taxon with a scientific name, in any letter case, or null. */
export async function findTaxonId(tx: Tx, scientificName: string): Promise<string | null> {
  const taxon = await tx.db.taxon.findFirst({
    where: { scientificName: { equals: scientificName, mode: 'insensitive' } },
    select: { id: true },
  });
  return taxon?.id ?? null;
}
