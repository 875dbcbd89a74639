import { Args, ID, Mutation, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { AnimalConnection, AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../../animal/index.js';
import { actsFor, notFound, type Viewer } from '../../kernel/index.js';
import { HoldingsAudienceType } from '../../membership/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  idAfter,
  Loaders,
  PageArgs,
  parseInput,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { type SharingChoice } from '../../access/index.js';
import {
  ManageCollections,
  moveToCollectionCommand,
  openCollectionCommand,
  renameCollectionCommand,
} from '../app/manage-collections.js';
import { setAnimalSharingCommand, setCollectionSharingCommand, SetPartSharing } from '../app/set-part-sharing.js';
import { type CollectionView, SharingReadStore, type SharingView } from '../store/sharing-read.store.js';
import {
  AnimalSharingType,
  CollectionConnection,
  CollectionPayload,
  CollectionType,
  MoveToCollectionInput,
  OpenCollectionInput,
  RenameCollectionInput,
  SetAnimalSharingInput,
  SetCollectionSharingInput,
  SharedAnimalsPayload,
  SharingChoiceType,
} from './sharing.types.js';

const SHARING = Symbol('sharing');
const COLLECTIONS = Symbol('collections');

@Resolver(() => CollectionType)
export class CollectionResolver {
  constructor(
    private readonly collections: ManageCollections,
    private readonly sharing: SetPartSharing,
    private readonly store: SharingReadStore,
    private readonly animalStore: AnimalReadStore,
  ) {}

  @Query(() => CollectionConnection, {
    description: 'The collections of an own keeper, in the order they were opened.',
  })
  @Authorize('custody.read-collections')
  async myCollections(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<CollectionType>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const page = toPage(args, 1);
    const rows = await this.store.pageOfCollections(keeperId, page.first, idAfter(page.after));
    return toConnection(rows, page.first, ({ id }) => [id], toCollectionType);
  }

  @ResolveField(() => AnimalConnection, { description: 'What is in it, in the order of registration.' })
  async animals(
    @Parent() collection: CollectionType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<AnimalType>> {
    const page = toPage(args, 1);
    const ids = await this.store.pageOfAnimals(collection.id, page.first, idAfter(page.after));
    const views = await Promise.all(ids.map((id) => loadAnimal(loaders, this.animalStore, viewer, id)));
    const shown = views.filter((view) => view !== null);
    return toConnection(shown, page.first, ({ id }) => [id], toAnimalType);
  }

  @Mutation(() => CollectionPayload, { description: 'Opens a named part of what an own keeper has.' })
  @Authorize('custody.open-collection')
  async openCollection(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: OpenCollectionInput,
  ): Promise<CollectionPayload> {
    return this.show(viewer, await this.collections.open(viewer, parseInput(openCollectionCommand, input)));
  }

  @Mutation(() => CollectionPayload, { description: 'Calls a collection something else.' })
  @Authorize('custody.open-collection')
  async renameCollection(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RenameCollectionInput,
  ): Promise<CollectionPayload> {
    return this.show(viewer, await this.collections.rename(viewer, parseInput(renameCollectionCommand, input)));
  }

  @Mutation(() => SharedAnimalsPayload, {
    description:
      'Puts animals an own keeper has into a collection, or into none. They leave it when they go to somebody else, on loan too.',
  })
  @Authorize('custody.set-part-sharing')
  async moveToCollection(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: MoveToCollectionInput,
  ): Promise<SharedAnimalsPayload> {
    const command = parseInput(moveToCollectionCommand, { ...input, collectionId: input.collectionId ?? null });
    return this.showAnimals(viewer, await this.collections.move(viewer, command));
  }

  @Mutation(() => CollectionPayload, {
    description: 'An owner of the keeper decides what others see of the animals in a collection. It holds at once.',
  })
  @Authorize('custody.set-part-sharing')
  async setCollectionSharing(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: SetCollectionSharingInput,
  ): Promise<CollectionPayload> {
    const command = parseInput(setCollectionSharingCommand, { ...input, holdingsShown: input.holdingsShown ?? null });
    return this.show(viewer, await this.sharing.ofCollection(viewer, command));
  }

  @Mutation(() => SharedAnimalsPayload, {
    description:
      'An owner of the keeper decides what others see of single animals. It holds at once, and lapses for an animal that goes to another keeper; whoever still owns it goes on withholding its lineage.',
  })
  @Authorize('custody.set-part-sharing')
  async setAnimalSharing(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: SetAnimalSharingInput,
  ): Promise<SharedAnimalsPayload> {
    const command = parseInput(setAnimalSharingCommand, { ...input, holdingsShown: input.holdingsShown ?? null });
    return this.showAnimals(viewer, await this.sharing.ofAnimals(viewer, command));
  }

  /** Asks again who may read it: somebody may have lost the role since a request that is repeated. */
  private async show(viewer: Viewer, { collectionId }: { collectionId: string }): Promise<CollectionPayload> {
    const found = (await this.store.findCollections([collectionId])).get(collectionId);
    if (found === undefined || !actsFor(viewer, found.keeperId)) throw notFound('collection');
    return { collection: toCollectionType(found) };
  }

  private async showAnimals(viewer: Viewer, { animalIds }: { animalIds: string[] }): Promise<SharedAnimalsPayload> {
    const views = await this.animalStore.findVisible(viewer, animalIds);
    return { animals: animalIds.flatMap((id) => views.get(id) ?? []).map(toAnimalType) };
  }
}

/** What an animal's own people read of its sharing. */
@Resolver(() => AnimalType)
export class AnimalSharingResolver {
  constructor(private readonly store: SharingReadStore) {}

  @ResolveField(() => AnimalSharingType, {
    nullable: true,
    description: 'What an own keeper shows of it; for those who have or own it.',
  })
  async sharing(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalSharingType | null> {
    if (view.level !== 'full') return null;
    const sharing = await this.load(viewer, loaders, view.id);
    if (sharing === null) return null;
    return {
      own: toChoiceType(sharing.own),
      holdingsShown: HoldingsAudienceType[sharing.holdings],
      lineageShared: sharing.lineageShared,
    };
  }

  @ResolveField(() => CollectionType, {
    nullable: true,
    description: 'The collection an own keeper has put it into; null where there is none.',
  })
  async collection(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<CollectionType | null> {
    if (view.level !== 'full') return null;
    const id = (await this.load(viewer, loaders, view.id))?.collectionId ?? null;
    if (id === null) return null;
    const loader = loaders.get<string, CollectionView | null>(
      COLLECTIONS,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.store.findCollections(ids);
          return ids.map((each) => found.get(each) ?? null);
        }),
    );
    const collection = await loader.load(id);
    return collection === null ? null : toCollectionType(collection);
  }

  private load(viewer: Viewer, loaders: RequestLoaders, animalId: string): Promise<SharingView | null> {
    const loader = loaders.get<string, SharingView | null>(
      SHARING,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.store.findSharing(viewer, ids);
          return ids.map((id) => found.get(id) ?? null);
        }),
    );
    return loader.load(animalId);
  }
}

function toChoiceType({ holdings, lineageWithheld }: SharingChoice): SharingChoiceType {
  return { holdingsShown: holdings === null ? null : HoldingsAudienceType[holdings], lineageWithheld };
}

function toCollectionType({ id, keeperId, name, choice }: CollectionView): CollectionType {
  return { id, keeperId, name, sharing: toChoiceType(choice) };
}
