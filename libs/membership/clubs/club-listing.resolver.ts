import { Args, ID, Mutation, Query, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  PageArgs,
  parseInput,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { seesClub } from '../core/club-standing.core.js';
import { ClubListingStore } from './club-listing.store.js';
import {
  ClubListingConnection,
  ClubListingType,
  SetClubListingInput,
  SetClubListingPayload,
  toListingType,
} from './club-listing.types.js';
import { SetClubListing, setClubListingCommand } from './set-club-listing.js';

const sought = z
  .string()
  .trim()
  .max(100, 'This is longer than any name. | Use at most 100 characters.')
  .nullish()
  .transform((text) => (text === undefined || text === '' ? null : text));

/** How clubs are found, by who looks for one. */
@Resolver()
export class ClubListingResolver {
  constructor(
    private readonly listings: ClubListingStore,
    private readonly set: SetClubListing,
  ) {}

  @Query(() => ClubListingConnection, {
    description: 'Clubs that chose to be found, in the order of their short names.',
  })
  @Authorize('membership.find-clubs')
  async clubs(
    @Args('search', { type: () => String, nullable: true, description: 'A part of the name or the short name.' })
    search: string | null | undefined,
    @Args('region', { type: () => String, nullable: true, description: 'ISO 3166-2, as the club says it.' })
    region: string | null | undefined,
    @Args('taxonId', { type: () => ID, nullable: true }) taxonId: string | null | undefined,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<ClubListingType>> {
    const page = toPage(args, 1);
    const asked = parseInput(
      z.object({ search: sought, region: z.string().max(10).nullish(), taxonId: z.string().max(40).nullish() }),
      { search, region, taxonId },
    );
    const filter = { text: asked.search, region: asked.region ?? null, taxonId: asked.taxonId ?? null };
    // A taxon that is none is a taxon no club is about.
    const none = filter.taxonId !== null && !z.uuid().safeParse(filter.taxonId).success;
    const rows = none ? [] : await this.listings.search(filter, page.after?.[0] ?? null, page.first + 1);
    return toConnection(rows, page.first, ({ slug }) => [slug], toListingType);
  }

  @Query(() => ClubListingType, { description: 'What a club says of itself, for those of the club; listed or not.' })
  @Authorize('membership.find-clubs')
  async clubListing(
    @CurrentViewer() viewer: Viewer,
    @Args('clubId', { type: () => ID }) clubId: string,
  ): Promise<ClubListingType> {
    if (!seesClub(viewer, clubId)) throw notFound('club');
    return toListingType(await this.listings.get(clubId));
  }

  @Mutation(() => SetClubListingPayload, {
    description: 'A registrar says whether the club is found by name, and what is told of it then.',
  })
  @Authorize('membership.set-club-listing')
  async setClubListing(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: SetClubListingInput,
  ): Promise<SetClubListingPayload> {
    const { clubId } = await this.set.execute(viewer, parseInput(setClubListingCommand, input));
    if (!seesClub(viewer, clubId)) throw notFound('club');
    return { club: toListingType(await this.listings.get(clubId)) };
  }
}
