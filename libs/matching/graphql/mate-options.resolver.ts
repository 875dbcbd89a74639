import { Args, ID, Query, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, toAnimalType } from '../../animal/index.js';
import { invalidInput, type Viewer } from '../../kernel/index.js';
import { toReferencePopulation } from '../../lineage/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  type Page,
  PageArgs,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { FindMates, type MateSearch } from '../app/find-mates.js';
import { nearestReasons } from '../core/nearest.core.js';
import { pointsOf, reasonOf } from '../core/rank-mates.core.js';
import { type FoundMate } from '../core/search-mates.core.js';
import {
  AnswerType,
  DistanceBandType,
  MateOptionsType,
  type MateOptionType,
  NoMateType,
  RankPartType,
} from './mate-options.types.js';
import { MateFiltersInput, MateWeightsInput } from './mate.inputs.js';

@Resolver()
export class MateOptionsResolver {
  constructor(
    private readonly findMates: FindMates,
    private readonly animals: AnimalReadStore,
  ) {}

  @Query(() => MateOptionsType, { description: 'Possible mates of an animal that an own keeper has or owns.' })
  @Authorize('matching.find-mates')
  async mateOptions(
    @CurrentViewer() viewer: Viewer,
    @Args('animalId', { type: () => ID }) animalId: string,
    @Args('filters', { type: () => MateFiltersInput, nullable: true }) filters: MateFiltersInput | null | undefined,
    @Args('weights', { type: () => MateWeightsInput, nullable: true }) weights: MateWeightsInput | null | undefined,
    @Args() args: PageArgs,
  ): Promise<MateOptionsType> {
    const page = toPage(args, 1);
    const search = await this.findMates.execute(viewer, {
      animalId,
      filters: filters ?? {},
      weights: weights ?? null,
      page: { first: page.first, afterId: page.after?.[0] ?? null },
    });
    const { found, total, leftOut } = search.answer;
    // The ranking is made anew for each page; the cursor names the mate after which to go on.
    if (found === null) throw noLongerListed();
    return {
      animal: toAnimalType(search.animal),
      on: search.filters.on,
      options: await this.toOptions(viewer, search, found, page),
      total,
      leftOut: {
        notAvailable: leftOut.not_available,
        notGrownUp: leftOut.not_grown_up,
        filteredOut:
          leftOut.sex_unknown + leftOut.not_open + leftOut.too_related + leftOut.too_little_known + leftOut.too_far,
      },
      nearest: nearestReasons(search.answer, search.filters).map((each) => ({
        ...each,
        because: NoMateType[each.because],
      })),
      population: toReferencePopulation(search.living),
    };
  }

  private async toOptions(
    viewer: Viewer,
    { weights, living }: MateSearch,
    found: readonly FoundMate[],
    page: Page,
  ): Promise<ConnectionOf<MateOptionType>> {
    const views = await this.animals.findVisible(
      viewer,
      found.map((mate) => mate.id),
    );
    const population = { size: living.size, meanKinship: living.populationMeanKinship };
    // The scope has the last word: what it does not show drops out, whatever the search thought.
    const seen = found.flatMap((mate) => {
      const view = views.get(mate.id);
      return view === undefined ? [] : [{ mate, view }];
    });
    return toConnection(
      seen,
      page.first,
      ({ mate }) => [mate.id],
      ({ mate, view }) => ({
        place: mate.place,
        animal: toAnimalType(view),
        offspringInbreeding: mate.offspringInbreeding,
        meanKinship: mate.meanKinship,
        geneDiversityChange: mate.geneDiversityChange,
        knownAncestry: mate.knownAncestry,
        grownUp: AnswerType[mate.adult],
        openForBreeding: mate.open,
        distance: DistanceBandType[mate.distance],
        askThroughRegistry: view.level !== 'full' && !mate.holderShown,
        parts: pointsOf(mate, weights, living.size).map((each) => ({ ...each, part: RankPartType[each.part] })),
        reason: reasonOf(mate, population),
      }),
    );
  }
}

function noLongerListed() {
  return invalidInput([
    {
      path: 'after',
      message: 'The mate this page goes on after is no longer in the list.',
      remedy: 'Read the list again from the start.',
    },
  ]);
}
