import { Args, ID, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../animal/index.js';
import { geneDiversity, kinship } from '../genetics/index.js';
import { invalidInput, notFound, ruleRefused, type Viewer } from '../kernel/index.js';
import { Authorize, CurrentViewer, Loaders, RequestLoaders } from '../platform/graphql/index.js';
import { closeness } from './closeness.core.js';
import { KinshipTables, MAX_TABLE } from './kinship-table.js';
import { KinshipTableType, MeanKinshipType, type ReferencePopulationType, RelationshipType } from './kinship.types.js';
import { LivePedigree } from './live-pedigree.js';
import { type Living, LivingPopulation } from './living-population.js';
import { PastLineage } from './past-lineage.js';

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
    private readonly pedigrees: LivePedigree,
    private readonly living: LivingPopulation,
    private readonly past: PastLineage,
    private readonly tables: KinshipTables,
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
    if ((await this.past.isChanged(first, loaders)) || (await this.past.isChanged(second, loaders))) {
      throw ruleRefused({
        rule: 'LINEAGE_CHANGED_SINCE',
        message:
          'Ancestors of an animal you gave away were recorded otherwise since. The number of today is not yours to read.',
      });
    }
    const { snapshot, ia, ib } = await this.places(first.taxonId, first.id, second.id);
    const value = kinship(snapshot.pedigree, snapshot.inbreeding, ia, ib);
    const known = ((snapshot.knownAncestry[ia] ?? 0) + (snapshot.knownAncestry[ib] ?? 0)) / 2;
    return {
      a: toAnimalType(first),
      b: toAnimalType(second),
      kinship: value,
      knownAncestry: known,
      words: closeness(value),
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

  private async places(taxonId: string, a: string, b: string) {
    const snapshot = await this.pedigrees.of(taxonId);
    const [ia, ib] = [snapshot.indexOf.get(a), snapshot.indexOf.get(b)];
    if (ia === undefined || ib === undefined) throw new Error('A registered animal is missing from its pedigree.');
    return { snapshot, ia, ib };
  }
}
