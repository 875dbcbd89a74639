import { Args, ID, Int, Query, Resolver } from '@nestjs/graphql';
import { toAnimalType } from '../../animal/index.js';
import { type Viewer } from '../../kernel/index.js';
import { toReferencePopulation } from '../../lineage/index.js';
import { Authorize, CurrentViewer, Loaders, RequestLoaders } from '../../platform/graphql/index.js';
import { ForecastPair } from '../app/forecast-pair.js';
import { MAX_OFFSPRING } from '../core/forecast.core.js';
import { PairForecastType } from './pair-forecast.types.js';

@Resolver()
export class PairForecastResolver {
  constructor(private readonly forecast: ForecastPair) {}

  @Query(() => PairForecastType, { description: 'What offspring of two animals that you see would be.' })
  @Authorize('matching.forecast-pair')
  async pairForecast(
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args('damId', { type: () => ID }) damId: string,
    @Args('sireId', { type: () => ID }) sireId: string,
    @Args('offspring', {
      type: () => Int,
      nullable: true,
      description: `How many to look ahead: 1 to ${MAX_OFFSPRING}, 1 when left out.`,
    })
    offspring: number | null | undefined,
  ): Promise<PairForecastType> {
    const found = await this.forecast.execute(viewer, { damId, sireId, offspring: offspring ?? 1 }, loaders);
    return {
      ...found,
      dam: toAnimalType(found.dam),
      sire: toAnimalType(found.sire),
      diversity: found.diversity === null ? null : [...found.diversity],
      unknown: [...found.unknown],
      warnings: [...found.warnings],
      population: found.living === null ? null : toReferencePopulation(found.living),
    };
  }
}
