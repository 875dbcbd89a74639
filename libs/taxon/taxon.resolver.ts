import { Args, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import {
  Authorize,
  type ConnectionOf,
  Loaders,
  PageArgs,
  RequestLoaders,
  toConnection,
  toPage,
} from '../platform/graphql/index.js';
import { loadLinesOf } from './taxon.loaders.js';
import { TaxonStore } from './taxon.store.js';
import { LineType, TaxonConnection, TaxonType } from './taxon.types.js';

@Resolver(() => TaxonType)
export class TaxonResolver {
  constructor(private readonly taxa: TaxonStore) {}

  @Query(() => TaxonConnection, { name: 'taxa', description: 'All taxa, by scientific name.' })
  @Authorize('taxon.read')
  async list(@Args() args: PageArgs): Promise<ConnectionOf<TaxonType>> {
    const page = toPage(args, 1);
    const rows = await this.taxa.page(page.first, page.after?.[0] ?? null);
    return toConnection(
      rows,
      page.first,
      (taxon) => [taxon.scientificName],
      (taxon) => taxon,
    );
  }

  @ResolveField(() => [LineType], { description: 'Its lines, by name.' })
  async lines(@Parent() taxon: TaxonType, @Loaders() loaders: RequestLoaders): Promise<LineType[]> {
    return loadLinesOf(loaders, this.taxa, taxon.id);
  }
}
