import { Injectable } from '@nestjs/common';
import { Database, type Tx } from '../../platform/prisma/index.js';

/** What a club says of itself to who looks for one. */
export type ClubListing = {
  readonly id: string;
  readonly slug: string;
  readonly name: string;
  readonly listed: boolean;
  readonly region: string | null;
  readonly admission: 'application' | 'invitation';
  readonly taxa: readonly { readonly id: string; readonly scientificName: string }[];
};

/** What somebody looks for; null = anything. */
export type ClubSearch = {
  readonly text: string | null;
  readonly region: string | null;
  readonly taxonId: string | null;
};

/** What a registrar says; what is undefined stays. */
export type ListingChange = {
  readonly listed: boolean;
  readonly region?: string | null | undefined;
  readonly admission?: ClubListing['admission'] | undefined;
  readonly taxonIds?: readonly string[] | undefined;
};

const LISTING = {
  id: true,
  slug: true,
  name: true,
  listed: true,
  region: true,
  admission: true,
  taxa: {
    select: { taxon: { select: { id: true, scientificName: true } } },
    orderBy: { taxon: { scientificName: 'asc' } },
  },
} as const;

/** Reads how clubs present themselves. */
@Injectable()
export class ClubListingStore {
  constructor(private readonly database: Database) {}

  /** Clubs that chose to be listed, by short name, at most `limit`, after the one given. */
  async search({ text, region, taxonId }: ClubSearch, after: string | null, limit: number): Promise<ClubListing[]> {
    // A percent sign or an underscore is meant as such.
    const literal = text?.replace(/[\\%_]/g, '\\$&');
    const contains = literal === undefined ? null : { contains: literal, mode: 'insensitive' as const };
    const rows = await this.database.client.club.findMany({
      where: {
        listed: true,
        ...(contains === null ? {} : { OR: [{ name: contains }, { slug: contains }] }),
        ...(region === null ? {} : { region }),
        ...(taxonId === null ? {} : { taxa: { some: { taxonId } } }),
        ...(after === null ? {} : { slug: { gt: after } }),
      },
      select: LISTING,
      orderBy: { slug: 'asc' },
      take: limit,
    });
    return rows.map(toListing);
  }

  /** The caller has made sure that the viewer sees the club. */
  async get(clubId: string): Promise<ClubListing> {
    return toListing(await this.database.client.club.findUniqueOrThrow({ where: { id: clubId }, select: LISTING }));
  }
}

/** Writes what a club says of itself. Call `lockClub` first. */
export async function writeListing(
  tx: Tx,
  clubId: string,
  { listed, region, admission, taxonIds }: ListingChange,
): Promise<void> {
  await tx.db.club.update({
    where: { id: clubId },
    data: {
      listed,
      ...(region === undefined ? {} : { region }),
      ...(admission === undefined ? {} : { admission }),
    },
  });
  if (taxonIds === undefined) return;
  await tx.db.clubTaxon.deleteMany({ where: { clubId } });
  await tx.db.clubTaxon.createMany({ data: taxonIds.map((taxonId) => ({ clubId, taxonId })) });
}

/** Of these ids the taxa that are known. */
export async function countTaxa(tx: Tx, ids: readonly string[]): Promise<number> {
  return tx.db.taxon.count({ where: { id: { in: [...ids] } } });
}

function toListing({
  taxa,
  ...club
}: Omit<ClubListing, 'taxa'> & { taxa: { taxon: ClubListing['taxa'][number] }[] }): ClubListing {
  return { ...club, taxa: taxa.map(({ taxon }) => taxon) };
}
