import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { invalidInput, type Viewer } from '../../kernel/index.js';
import { type ConnectionOf, CurrentViewer, Loaders, PageArgs, RequestLoaders } from '../../platform/graphql/index.js';
import { isGrownUp } from '../../taxon/index.js';
import { growthOf, warnOfTaxon } from '../core/growth.core.js';
import { QUANTITIES } from '../core/measurement.core.js';
import { FactHistoryStore } from '../store/fact-history.store.js';
import { FactPageStore } from '../store/fact-page.store.js';
import { SeriesStore } from '../store/series.store.js';
import { AnimalType } from './animal.types.js';
import { loadProfile } from './fact-history.loaders.js';
import { loadFactPage } from './fact-page.js';
import {
  GrowthType,
  LengthMeasureType,
  MeasurementConnection,
  type MeasurementType,
  QuantityType,
  TemperaturePlaceType,
  toGrowthType,
  toMeasurementType,
} from './measurement.types.js';
import { loadSeries } from './series.loaders.js';

/** What was measured of an animal, as a list and as curves. */
@Resolver(() => AnimalType)
export class MeasurementResolver {
  constructor(
    private readonly history: FactHistoryStore,
    private readonly facts: FactPageStore,
    private readonly series: SeriesStore,
  ) {}

  @ResolveField(() => MeasurementConnection, { nullable: true, description: 'Last recorded first.' })
  async measurements(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
    @Args('quantity', { type: () => QuantityType, nullable: true }) quantity?: QuantityType | null,
  ): Promise<ConnectionOf<MeasurementType> | null> {
    if (view.record === null) return null;
    const kinds = quantity === null || quantity === undefined ? QUANTITIES : [quantity];
    return loadFactPage(loaders, this.facts, { viewer, view, kinds }, args, (fact) => {
      const measured = toMeasurementType(fact);
      if (measured === null) throw new RangeError(`Measures nothing: ${fact.kind}`);
      return measured;
    });
  }

  @ResolveField(() => GrowthType, {
    nullable: true,
    description: 'The curve of a quantity, with warnings on days that do not fit the animal or its taxon.',
  })
  async growth(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
    @Args('quantity', { type: () => QuantityType }) quantity: QuantityType,
    @Args('measure', { type: () => LengthMeasureType, nullable: true, description: 'Of a length.' })
    measure?: LengthMeasureType | null,
    @Args('of', {
      type: () => TemperaturePlaceType,
      nullable: true,
      description: 'Of a temperature; the animal when left out.',
    })
    of?: TemperaturePlaceType | null,
  ): Promise<GrowthType | null> {
    if (view.record === null) return null;
    const series = toSeries(quantity, measure ?? null, of ?? null);
    const { days, withoutDay } = await loadSeries(loaders, this.series, view, series);
    const { maturityDays, ...bounds } = await loadProfile(loaders, this.history, view.id);
    const birth = view.record.birth;
    const points = growthOf(days, series).map((point) => {
      const grownUp = isGrownUp(birth, maturityDays, point.day) === 'yes';
      return {
        ...point,
        warnings: [...point.warnings, ...warnOfTaxon({ ...series, value: point.value }, bounds, grownUp)],
      };
    });
    return toGrowthType(series, points, withoutDay);
  }
}

/** The series asked for. Throws INVALID_INPUT for a length along nothing, and for what does not belong to the quantity. */
function toSeries(quantity: QuantityType, measure: LengthMeasureType | null, of: TemperaturePlaceType | null) {
  const problem = (path: string, message: string, remedy: string) => invalidInput([{ path, message, remedy }]);
  if (quantity === QuantityType.length && measure === null)
    throw problem('measure', 'Along what was it measured?', 'Name the measure, for example carapace_straight.');
  if (quantity !== QuantityType.length && measure !== null)
    throw problem('measure', 'Only a length has a measure.', 'Leave it out.');
  if (quantity !== QuantityType.temperature && of !== null)
    throw problem('of', 'Only a temperature says what it was read from.', 'Leave it out.');
  return { quantity, measure, of: quantity === QuantityType.temperature ? (of ?? TemperaturePlaceType.animal) : null };
}
