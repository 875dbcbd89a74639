import { Args, ID, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../../animal/index.js';
import { geneDiversity } from '../../genetics/index.js';
import { invalidInput, notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, Loaders, RequestLoaders } from '../../platform/graphql/index.js';
import { KinshipTables, MAX_TABLE } from './kinship-table.js';
import {
  KinshipTableType,
  MeanKinshipType,
  type ReferencePopulationType,
  RelationshipType,
  type SharedAncestorType,
} from './kinship.types.js';
import { type Living, LivingPopulation } from '../pedigree/living-population.js';
import { MAX_SHARED_ANCESTORS, RelateAnimals, type Related } from './relate-animals.js';

const LIVING = Symbol('living');

/** A reference population as shown beside every number computed from it. */
export function toReferencePopulation({ size, populationMeanKinship, asOf }: Living): ReferencePopulationType {
  return {
    size,
    meanKinship: populationMeanKinship,
    geneDiversity: populationMeanKinship === null ? null : geneDiversity(populationMeanKinship),
    asOf,
  };
}

@Resolver(() => AnimalType)
export class KinshipResolver {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly living: LivingPopulation,
    private readonly tables: KinshipTables,
    private readonly relate: RelateAnimals,
  ) {}

  @ResolveField(() => MeanKinshipType, {
    nullable: true,
    description: 'Null for one who no longer has the animal: the living of today are not theirs to read.',
  })
  async meanKinship(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
  ): Promise<MeanKinshipType | null> {
    if (view.level === 'past') return null;
    const loader = loaders.get<string, Living>(
      LIVING,
      () => new DataLoader((ids) => Promise.all(ids.map((id) => this.living.of(id)))),
    );
    const living = await loader.load(view.taxonId);
    const index = living.snapshot.indexOf.get(view.id);
    const value = index === undefined ? undefined : living.meanKinship[index];
    const known = index === undefined ? undefined : living.snapshot.knownAncestry[index];
    return value === undefined || known === undefined
      ? null
      : { value, knownAncestry: known, population: toReferencePopulation(living) };
  }

  @Query(() => RelationshipType, { description: 'How two animals that the viewer may see are related.' })
  @Authorize('lineage.read-relationship')
  async relationship(
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args('a', { type: () => ID }) a: string,
    @Args('b', { type: () => ID }) b: string,
  ): Promise<RelationshipType> {
    const [first, second] = await Promise.all([a, b].map((id) => loadAnimal(loaders, this.animals, viewer, id)));
    if (first === null || second === null || first === undefined || second === undefined) throw notFound('animal');
    if (first.taxonId !== second.taxonId) {
      throw invalidInput([
        { path: 'b', message: 'The two animals are of different taxa.', remedy: 'Name two animals of one taxon.' },
      ]);
    }
    await this.tables.refuseChanged([first, second]);
    const related = await this.relate.execute(first, second);
    const { ties, words } = related;
    return {
      a: toAnimalType(first),
      b: toAnimalType(second),
      kinship: ties.kinship,
      knownAncestry: (related.knownAncestry[0] + related.knownAncestry[1]) / 2,
      words: words.phrase,
      aIs: words.a,
      bIs: words.b,
      sharedAncestors: await this.toSharedAncestors(viewer, related),
      distantShare: ties.kinship === 0 ? 0 : Math.max(0, ties.rest) / ties.kinship,
    };
  }

  @Query(() => KinshipTableType, {
    description: `Kinship of each of 2 to ${MAX_TABLE} animals of one taxon with each; all must be visible to the viewer.`,
  })
  @Authorize('lineage.read-relationship')
  async kinshipTable(
    @CurrentViewer() viewer: Viewer,
    @Args('animals', { type: () => [ID], description: 'Ids or register numbers.' }) animals: string[],
  ): Promise<KinshipTableType> {
    const table = await this.tables.read(viewer, animals);
    return {
      rows: table.animals.map((view, k) => ({
        animal: toAnimalType(view),
        knownAncestry: table.knownAncestry[k] ?? 0,
        kinships: [...(table.kinships[k] ?? [])],
      })),
      version: String(table.version),
      asOf: table.asOf,
    };
  }

  private async toSharedAncestors(viewer: Viewer, { ties, snapshot }: Related): Promise<SharedAncestorType[]> {
    const first = ties.sharedAncestors.slice(0, MAX_SHARED_ANCESTORS);
    const ids = first.map(({ animal }) => snapshot.ids.at(animal) ?? '');
    const views = await this.animals.findVisible(viewer, ids);
    return first.map(({ share, generationsA, generationsB }, k) => {
      const view = views.get(ids[k] ?? '');
      const animal = view === undefined ? null : toAnimalType(view);
      return { share, generationsA, generationsB, shown: animal !== null, animal };
    });
  }
}
