import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../../animal/index.js';
import { invalidInput, type Viewer } from '../../kernel/index.js';
import {
  type ConnectionOf,
  CurrentViewer,
  foreignCursor,
  Loaders,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { DescendantLists, MAX_DESCENDANT_GENERATIONS } from './descendant-lists.js';
import { DescendantArgs, DescendantConnection, type DescendantType } from './descendant.types.js';
import { type DescendantPlace } from './descendants.core.js';
import { SealedIds } from './sealed-ids.js';

@Resolver(() => AnimalType)
export class DescendantResolver {
  constructor(
    private readonly lists: DescendantLists,
    private readonly animals: AnimalReadStore,
    private readonly sealed: SealedIds,
  ) {}

  @ResolveField(() => DescendantConnection, {
    description: 'Nearest generation first, each animal once. A past holder reads those recorded when the animal left.',
  })
  async descendants(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: DescendantArgs,
  ): Promise<ConnectionOf<DescendantType>> {
    const generations = args.generations ?? 3;
    if (generations < 1 || generations > MAX_DESCENDANT_GENERATIONS) {
      throw invalidInput([
        {
          path: 'generations',
          message: `Descendants are shown over 1 to ${MAX_DESCENDANT_GENERATIONS} generations.`,
          remedy: 'Ask for fewer.',
        },
      ]);
    }
    const page = toPage(args, 2);
    const list = `descendants of ${view.id}`;
    const pager = await this.lists.of(view, loaders);
    const rows = pager.page(generations, page.after === null ? null : this.toPlace(page.after, list), page.first + 1);
    const nodes = await Promise.all(
      rows.map(async ({ generation, id, share, probability }) => {
        const animal = await loadAnimal(loaders, this.animals, viewer, id);
        const node: DescendantType = {
          generation,
          share,
          probability,
          shown: animal !== null,
          animal: animal === null ? null : toAnimalType(animal),
        };
        return { id, node };
      }),
    );
    return toConnection(
      nodes,
      page.first,
      ({ id, node }) => [String(node.generation), this.sealed.seal(id, list)],
      ({ node }) => node,
    );
  }

  /** Throws INVALID_INPUT for what was not made here. */
  private toPlace([generation = '', sealed = '']: readonly string[], list: string): DescendantPlace {
    const id = this.sealed.open(sealed, list);
    if (id === null || !/^[1-9]\d?$/.test(generation)) {
      throw foreignCursor();
    }
    return { generation: Number(generation), id };
  }
}
