import { Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { BreedingReadStore, ClutchType, loadClutch, toClutchType } from '../../breeding/index.js';
import { type Viewer } from '../../kernel/index.js';
import { CurrentViewer, Loaders, RequestLoaders } from '../../platform/graphql/index.js';
import { TransferEggsType } from './transfer-eggs.types.js';

/** The clutch whose eggs go along, as far as it is shown. */
@Resolver(() => TransferEggsType)
export class TransferEggsResolver {
  constructor(private readonly breeding: BreedingReadStore) {}

  @ResolveField(() => ClutchType, {
    nullable: true,
    description:
      'What goes along of its record: temperatures, candlings, marks, possible parents as claims, the days. Never where it was. Null once nothing came of the transfer.',
  })
  async clutch(
    @Parent() { clutchId }: TransferEggsType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<ClutchType | null> {
    const clutch = await loadClutch(loaders, this.breeding, viewer, clutchId);
    return clutch === null ? null : toClutchType(clutch, null);
  }
}
