import { Args, ID, Mutation, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../../animal/index.js';
import { actsFor, type Day, notFound, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  DayType,
  foreignCursor,
  idAfter,
  Loaders,
  PageArgs,
  parseInput,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { groupRows } from '../../taxon/index.js';
import { endGrantCommand, GrantReading, grantReadingCommand } from '../app/grant-reading.js';
import { WhoCouldSeeAnimal } from '../app/who-could-see-animal.js';
import { type GuestView, SharingReadStore } from '../store/sharing-read.store.js';
import {
  EndGrantInput,
  GrantReadingInput,
  ReadingGrantConnection,
  ReadingGrantPayload,
  ReadingGrantType,
  SightConnection,
  SightType,
  WayType,
} from './sharing.types.js';

const GUESTS = Symbol('guests');

@Resolver(() => ReadingGrantType)
export class ReadingResolver {
  constructor(
    private readonly reading: GrantReading,
    private readonly whoCould: WhoCouldSeeAnimal,
    private readonly store: SharingReadStore,
    private readonly animals: AnimalReadStore,
    private readonly clock: Clock,
  ) {}

  @Query(() => SightConnection, {
    description:
      'Who could see an animal at some time of a day, and in what way: for those who had or owned it that day. What keepers showed is told as they had set it then; a region counts as the keeper has it now.',
  })
  @Authorize('custody.read-sights')
  async whoCouldSee(
    @CurrentViewer() viewer: Viewer,
    @Args('animalId', { type: () => ID }) animalId: string,
    @Args('on', { type: () => DayType }) on: Day,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<SightType>> {
    const page = toPage(args, 1);
    const sights = await this.whoCould.execute(viewer, animalId, on);
    const start = placeAfter(page.after);
    const shown = sights.map((sight, place) => ({ sight, place })).slice(start, start + page.first + 1);
    return toConnection(
      shown,
      page.first,
      ({ place }) => [String(place)],
      ({ sight }) => ({ ...sight, way: WayType[sight.way] }),
    );
  }

  @Query(() => ReadingGrantConnection, { description: 'What an own keeper may read as a guest today.' })
  @Authorize('custody.read-grants')
  async myReading(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<ReadingGrantType>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const page = toPage(args, 1);
    const rows = await this.store.pageOfGuest(keeperId, this.clock.today(), page.first, idAfter(page.after));
    return toConnection(rows, page.first, ({ grantId }) => [grantId], toGrantType);
  }

  @ResolveField(() => AnimalType, { nullable: true, description: 'Null once it is not shown to you any more.' })
  async animal(
    @Parent() { animalId }: ReadingGrantType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    const view = await loadAnimal(loaders, this.animals, viewer, animalId);
    return view === null ? null : toAnimalType(view);
  }

  @Mutation(() => ReadingGrantPayload, {
    description:
      'Lets another keeper, a veterinarian for instance, read one animal until a day: its record and its quarantine, no price, no papers, and not who has it. It ends by itself.',
  })
  @Authorize('custody.grant-reading')
  async grantReading(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: GrantReadingInput,
  ): Promise<ReadingGrantPayload> {
    return this.show(viewer, await this.reading.grant(viewer, parseInput(grantReadingCommand, input)));
  }

  @Mutation(() => ReadingGrantPayload, {
    description: 'Ends the reading of a guest at once, by who granted it or the guest.',
  })
  @Authorize('custody.grant-reading')
  async endGrant(@CurrentViewer() viewer: Viewer, @Args('input') input: EndGrantInput): Promise<ReadingGrantPayload> {
    return this.show(viewer, await this.reading.end(viewer, parseInput(endGrantCommand, input)));
  }

  /** Asks again who may read it: somebody may have lost the role since a request that is repeated. */
  private async show(viewer: Viewer, { grantId }: { grantId: string }): Promise<ReadingGrantPayload> {
    const grant = await this.store.findGrant(grantId);
    if (grant === null || ![grant.guest, grant.grantedBy].some(({ id }) => actsFor(viewer, id)))
      throw notFound('grant');
    return { grant: toGrantType(grant) };
  }
}

@Resolver(() => AnimalType)
export class AnimalGuestsResolver {
  constructor(
    private readonly store: SharingReadStore,
    private readonly clock: Clock,
  ) {}

  @ResolveField(() => ReadingGrantConnection, {
    nullable: true,
    description: 'Who may read it as a guest today; for those who have or own it.',
  })
  async guests(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<ReadingGrantType> | null> {
    if (view.level !== 'full') return null;
    const loader = loaders.get<string, GuestView[]>(
      GUESTS,
      () =>
        new DataLoader(async (ids) => {
          const found = groupRows(await this.store.findGuests(ids, this.clock.today()), ({ animalId }) => animalId);
          return ids.map((id) => found.get(id) ?? []);
        }),
    );
    const page = toPage(args, 1);
    const after = idAfter(page.after) ?? '';
    const later = (await loader.load(view.id)).filter(({ grantId }) => grantId > after);
    return toConnection(later.slice(0, page.first + 1), page.first, ({ grantId }) => [grantId], toGrantType);
  }
}

/** The place in a list at which a page begins. Throws INVALID_INPUT for a cursor of another list. */
function placeAfter(after: readonly string[] | null): number {
  if (after === null) return 0;
  const place = Number(after[0]);
  if (!Number.isSafeInteger(place) || place < 0) throw foreignCursor();
  return place + 1;
}

function toGrantType({ grantId, animalId, guest, grantedBy, from, until }: GuestView): ReadingGrantType {
  return {
    id: grantId,
    animalId,
    guest: { keeperId: guest.id, label: guest.name },
    grantedBy: { keeperId: grantedBy.id, label: grantedBy.name },
    from,
    until,
  };
}
