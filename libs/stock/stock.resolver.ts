import { Args, ID, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { type Day, type Viewer } from '../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  DayType,
  Loaders,
  PageArgs,
  RequestLoaders,
  toConnection,
  toPage,
} from '../platform/graphql/index.js';
import { loadTaxon, TaxonStore, TaxonType } from '../taxon/index.js';
import { ReviewRegion } from './review-region.js';
import {
  RegionalStockType,
  StockGeneticsType,
  TaxonStockConnection,
  TaxonStockType,
  toStockCount,
} from './stock.types.js';

@Resolver(() => RegionalStockType)
export class RegionalStockResolver {
  constructor(private readonly review: ReviewRegion) {}

  @Query(() => RegionalStockType, {
    description: 'The stock of a region over some days, both ends included, for its coordinator.',
  })
  @Authorize('stock.read-region')
  async regionalStock(
    @CurrentViewer() viewer: Viewer,
    @Args('clubId', { type: () => ID }) clubId: string,
    @Args('region', { type: () => String, description: 'ISO 3166-2, for example `AT-7`.' }) region: string,
    @Args('since', { type: () => DayType }) since: Day,
    @Args('asOf', { type: () => DayType }) asOf: Day,
    @Args('taxonId', { type: () => ID, nullable: true, description: 'All taxa when left out.' })
    taxonId?: string | null,
  ): Promise<RegionalStockType> {
    const stock = await this.review.execute(viewer, { clubId, region, taxonId: taxonId ?? null, since, asOf });
    return { clubId, region, since, asOf, total: toStockCount(stock.total), stock };
  }

  @ResolveField(() => TaxonStockConnection, { description: 'Each taxon by scientific name.' })
  taxa(@Parent() { stock }: RegionalStockType, @Args() args: PageArgs): ConnectionOf<TaxonStockType> {
    const page = toPage(args, 1);
    const after = page.after?.[0] ?? '';
    const rows = stock.taxa.filter(({ name }) => name > after).slice(0, page.first + 1);
    return toConnection(
      rows,
      page.first,
      (row) => [row.name],
      (row) => ({ count: toStockCount(row), taxonId: row.taxonId, individuals: row.individuals, asOf: stock.asOf }),
    );
  }
}

@Resolver(() => TaxonStockType)
export class TaxonStockResolver {
  constructor(
    private readonly review: ReviewRegion,
    private readonly taxa: TaxonStore,
  ) {}

  @ResolveField(() => TaxonType)
  async taxon(@Parent() { taxonId }: TaxonStockType, @Loaders() loaders: RequestLoaders): Promise<TaxonType> {
    return loadTaxon(loaders, this.taxa, taxonId);
  }

  @ResolveField(() => StockGeneticsType)
  async genetics(@Parent() { taxonId, individuals, asOf }: TaxonStockType): Promise<StockGeneticsType> {
    const none = { size: null, meanKinship: null, geneDiversity: null, knownAncestry: null, asOf: null, whyNot: null };
    return { ...none, ...(await this.review.geneticState(taxonId, individuals, asOf)) };
  }
}
