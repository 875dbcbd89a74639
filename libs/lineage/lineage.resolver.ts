import { Args, Int, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { AnimalReadStore, AnimalType, type AnimalView, loadAnimal, toAnimalType } from '../animal/index.js';
import { invalidInput, notFound, type Viewer } from '../kernel/index.js';
import { Authorize, CurrentViewer, Loaders, parseInput, RequestLoaders } from '../platform/graphql/index.js';
import { loadTaxon, TaxonStore } from '../taxon/index.js';
import { LineageReadStore } from './lineage-read.store.js';
import { AncestorType, InbreedingType, RecordParentInput, RecordParentPayload } from './lineage.types.js';
import { LivePedigree } from './live-pedigree.js';
import { PARENTAGE_BASES, type ParentRole } from './parentage.core.js';
import { claimsAt, loadClaims, PastLineage } from './past-lineage.js';
import { ancestorPlaces } from './pedigree-snapshot.core.js';
import { RecordParent } from './record-parent.js';
import { idInput } from '../platform/input/index.js';

/** Generations ancestors are shown over at most: 126 ancestors. */
const MAX_GENERATIONS = 6;

const recordParentCommand = z.object({
  animalId: idInput,
  role: z.enum(['sire', 'dam']),
  parentId: idInput.nullish().transform((value) => value ?? null),
  basis: z
    .enum(PARENTAGE_BASES)
    .nullish()
    .transform((value) => value ?? 'declared'),
  reason: z.string().trim().min(1, 'A reason is needed. | Write one.').max(500),
});

@Resolver(() => AnimalType)
export class LineageResolver {
  constructor(
    private readonly lineage: LineageReadStore,
    private readonly pedigrees: LivePedigree,
    private readonly animals: AnimalReadStore,
    private readonly taxa: TaxonStore,
    private readonly past: PastLineage,
    private readonly recordParentUseCase: RecordParent,
  ) {}

  @Mutation(() => RecordParentPayload, {
    description: 'Records, corrects or takes back one parent of an animal an own keeper has or owns.',
  })
  @Authorize('lineage.record-parent')
  async recordParent(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordParentInput,
  ): Promise<RecordParentPayload> {
    const command = parseInput(recordParentCommand, input);
    await this.recordParentUseCase.execute(viewer, command);
    const view = (await this.animals.findVisible(viewer, [command.animalId])).get(command.animalId);
    if (view === undefined) throw notFound('animal');
    return { animal: toAnimalType(view) };
  }

  @ResolveField(() => AnimalType, {
    nullable: true,
    description: 'Null when unknown or not shown; `ancestors` tells the two apart.',
  })
  async sire(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return this.parent(view, 'sire', viewer, loaders);
  }

  @ResolveField(() => AnimalType, {
    nullable: true,
    description: 'Null when unknown or not shown; `ancestors` tells the two apart.',
  })
  async dam(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return this.parent(view, 'dam', viewer, loaders);
  }

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
    const places = ancestorPlaces(await this.pedigrees.of(view.taxonId), view.id, depth);
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
    const snapshot = await this.pedigrees.of(view.taxonId);
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

  private async parent(
    view: AnimalView,
    role: ParentRole,
    viewer: Viewer,
    loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    const claims = claimsAt(await loadClaims(loaders, this.lineage, view.id), view.readsUntil);
    const parentId = claims.find((claim) => claim.role === role)?.parentId ?? null;
    const parent = parentId === null ? null : await loadAnimal(loaders, this.animals, viewer, parentId);
    return parent === null ? null : toAnimalType(parent);
  }
}
