import { Args, Int, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../../animal/index.js';
import { invalidInput, type Viewer } from '../../kernel/index.js';
import { CurrentViewer, Loaders, RequestLoaders } from '../../platform/graphql/index.js';
import { loadTaxon, TaxonStore } from '../../taxon/index.js';
import { AncestorType, InbreedingType } from './lineage.types.js';
import { LivePedigree } from '../pedigree/live-pedigree.js';
import { pedigreeOfRequest } from '../pedigree/pedigree-of-request.js';
import { PastLineage } from '../pedigree/past-lineage.js';
import { ancestorPlaces } from '../pedigree/pedigree-snapshot.core.js';

/** Generations ancestors are shown over at most: 126 ancestors. */
const MAX_GENERATIONS = 6;

@Resolver(() => AnimalType)
export class LineageResolver {
  constructor(
    private readonly pedigrees: LivePedigree,
    private readonly animals: AnimalReadStore,
    private readonly taxa: TaxonStore,
    private readonly past: PastLineage,
  ) {}

  @ResolveField(() => [AncestorType], {
    nullable: true,
    description:
      'Known ancestors, nearest first. Null for a past holder once they were recorded otherwise after the animal left.',
  })
  async ancestors(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args('generations', { type: () => Int, nullable: true, description: `1 to ${MAX_GENERATIONS}; 3 when left out.` })
    generations?: number | null,
  ): Promise<AncestorType[] | null> {
    const depth = generations ?? 3;
    if (depth < 1 || depth > MAX_GENERATIONS) {
      throw invalidInput([
        {
          path: 'generations',
          message: `Ancestors are shown over 1 to ${MAX_GENERATIONS} generations.`,
          remedy: 'Ask for fewer.',
        },
      ]);
    }
    if (await this.past.isChanged(view, loaders)) return null;
    const places = ancestorPlaces(await pedigreeOfRequest(loaders, this.pedigrees, view.taxonId), view.id, depth);
    return Promise.all(
      places.map(async (place) => {
        const ancestor = await loadAnimal(loaders, this.animals, viewer, place.id);
        return {
          path: place.path,
          generation: place.path.length,
          shown: ancestor !== null,
          animal: ancestor === null ? null : toAnimalType(ancestor),
        };
      }),
    );
  }

  @ResolveField(() => InbreedingType, {
    nullable: true,
    description: 'Null for a past holder once its parents or ancestors were recorded otherwise after it left.',
  })
  async inbreeding(@Parent() { view }: AnimalType, @Loaders() loaders: RequestLoaders): Promise<InbreedingType | null> {
    if (await this.past.isChanged(view, loaders)) return null;
    const snapshot = await pedigreeOfRequest(loaders, this.pedigrees, view.taxonId);
    const index = snapshot.indexOf.get(view.id);
    const value = index === undefined ? undefined : snapshot.inbreeding[index];
    const known = index === undefined ? undefined : snapshot.knownAncestry[index];
    if (value === undefined || known === undefined) return null;
    return {
      value,
      knownAncestry: known,
      population: await loadTaxon(loaders, this.taxa, view.taxonId),
      version: String(snapshot.version),
    };
  }
}
