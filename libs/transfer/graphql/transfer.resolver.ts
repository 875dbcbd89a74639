import { Args, ID, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../../animal/index.js';
import { actsFor, isId, notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  Loaders,
  momentAfter,
  PageArgs,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { TransferStore } from '../store/transfer.store.js';
import { toTransferType, TransferConnection, TransferItemType, TransferType } from './transfer.types.js';

@Resolver(() => TransferItemType)
export class TransferResolver {
  constructor(
    private readonly transfers: TransferStore,
    private readonly animals: AnimalReadStore,
  ) {}

  @Query(() => TransferType, { description: 'One transfer, for its two parties.' })
  @Authorize('transfer.read')
  async transfer(@CurrentViewer() viewer: Viewer, @Args('id', { type: () => ID }) id: string): Promise<TransferType> {
    if (!isId(id)) throw notFound('transfer');
    return toTransferType(viewer, await this.transfers.getVisible(viewer, id));
  }

  @Query(() => TransferConnection, { description: 'What an own keeper gives and receives, newest offer first.' })
  @Authorize('transfer.read')
  async myTransfers(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<TransferType>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const page = toPage(args, 2);
    return toConnection(
      await this.transfers.findPage(viewer, keeperId, page.first, momentAfter(page.after)),
      page.first,
      ({ transfer }) => [transfer.offeredAt.toISOString(), transfer.id],
      (visible) => toTransferType(viewer, visible),
    );
  }

  @ResolveField(() => AnimalType, {
    nullable: true,
    description:
      'The animal, as far as it is shown to the viewer; null when it is not, as after an offer that came to nothing.',
  })
  async animal(
    @Parent() item: TransferItemType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    const view = await loadAnimal(loaders, this.animals, viewer, item.animalId);
    return view === null ? null : toAnimalType(view);
  }
}
