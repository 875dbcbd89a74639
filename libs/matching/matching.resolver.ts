import { Args, ID, Query, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, toAnimalType } from '../animal/index.js';
import { invalidInput, type Viewer } from '../kernel/index.js';
import { toReferencePopulation } from '../lineage/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  type Page,
  PageArgs,
  toConnection,
  toPage,
} from '../platform/graphql/index.js';
import { distanceBand } from './distance.core.js';
import { FindMates, type MateSearch } from './find-mates.js';
import { MateStore } from './mate.store.js';
import { AnswerType, DistanceBandType, MateOptionsType, type MateOptionType } from './matching.types.js';
import { type RankedMate } from './rank-mates.core.js';

@Resolver()
export class MatchingResolver {
  constructor(
    private readonly findMates: FindMates,
    private readonly mates: MateStore,
    private readonly animals: AnimalReadStore,
  ) {}

  @Query(() => MateOptionsType, { description: 'Possible mates of an animal that an own keeper has or owns.' })
  @Authorize('matching.find-mates')
  async mateOptions(
    @CurrentViewer() viewer: Viewer,
    @Args('animalId', { type: () => ID }) animalId: string,
    @Args() args: PageArgs,
  ): Promise<MateOptionsType> {
    const page = toPage(args, 1);
    const search = await this.findMates.execute(viewer, animalId);
    return {
      animal: toAnimalType(search.animal),
      options: await this.toOptions(viewer, search, page),
      leftOut: search.leftOut,
      population: toReferencePopulation(search.living),
    };
  }

  private async toOptions(viewer: Viewer, search: MateSearch, page: Page): Promise<ConnectionOf<MateOptionType>> {
    const rows = search.mates.slice(startAfter(search.mates, page.after?.[0] ?? null)).slice(0, page.first + 1);
    const ids = rows.map((mate) => mate.id);
    const views = await this.animals.findVisible(viewer, ids);
    const places = await this.mates.findPlaces(viewer, ids);
    const ownRegion = await this.mates.findOwnRegion(viewer);
    const holders = await this.mates.countHolders(viewer, search.animal.taxonId, search.animal.lineId);
    // An animal that stopped being visible between the two reads drops out.
    const seen = rows.flatMap((mate) => {
      const view = views.get(mate.id);
      return view === undefined ? [] : [{ mate, view }];
    });
    return toConnection(
      seen,
      page.first,
      ({ mate }) => [mate.id],
      ({ mate, view }) => {
        const place = places.get(mate.id);
        return {
          place: mate.place,
          animal: toAnimalType(view),
          offspringInbreeding: mate.offspringInbreeding,
          meanKinship: mate.meanKinship,
          knownAncestry: mate.knownAncestry,
          grownUp: AnswerType[mate.adult],
          distance: DistanceBandType[distanceBand(ownRegion, place?.region ?? null, place?.shown ?? false, holders)],
          reason: mate.reason,
        };
      },
    );
  }
}

/** The ranking is made anew for each page; the cursor names the mate after which to go on. */
function startAfter(mates: readonly RankedMate[], id: string | null): number {
  if (id === null) return 0;
  const index = mates.findIndex((mate) => mate.id === id);
  if (index < 0) {
    throw invalidInput([
      {
        path: 'after',
        message: 'The mate this page goes on after is no longer in the list.',
        remedy: 'Read the list again from the start.',
      },
    ]);
  }
  return index + 1;
}
