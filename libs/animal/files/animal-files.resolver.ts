import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { z } from 'zod';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, Loaders, parseInput, RequestLoaders } from '../../platform/graphql/index.js';
import { idInput } from '../../platform/input/index.js';
import { AnimalType, toAnimalType } from '../graphql/animal.types.js';
import { AnimalReadStore } from '../store/animal-read.store.js';
import { AnimalFileStore, type AnimalFileView } from './animal-file.store.js';
import {
  AnimalFileType,
  toAnimalFileType,
  WithdrawAnimalFileInput,
  WithdrawAnimalFilePayload,
} from './animal-file.types.js';
import { WithdrawAnimalFile } from './withdraw-animal-file.js';

const FILES = Symbol('files of animals');

const withdrawCommand = z.object({
  fileId: idInput,
  reason: z
    .string()
    .trim()
    .min(1, 'The reason is empty. | Say why the file is withdrawn.')
    .max(500, 'The reason is longer than 500 characters. | Shorten it.'),
});

@Resolver(() => AnimalType)
export class AnimalFilesResolver {
  constructor(
    private readonly store: AnimalFileStore,
    private readonly animals: AnimalReadStore,
    private readonly useCase: WithdrawAnimalFile,
  ) {}

  @ResolveField(() => [AnimalFileType], {
    description: 'Own files, and the pictures others sent where the record is shown; 60 a keeper at most.',
  })
  async files(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalFileType[]> {
    const loader = loaders.get<string, AnimalFileView[]>(
      FILES,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.store.findOfAnimals(viewer, ids);
          return ids.map((id) => found.get(id) ?? []);
        }),
    );
    return (await loader.load(view.id)).map(toAnimalFileType);
  }

  @Mutation(() => WithdrawAnimalFilePayload, {
    description: 'Hides a file an own keeper sent from everybody else; the keeper keeps it as evidence.',
  })
  @Authorize('animal.add-file')
  async withdrawAnimalFile(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: WithdrawAnimalFileInput,
  ): Promise<WithdrawAnimalFilePayload> {
    const { animalId } = await this.useCase.execute(viewer, parseInput(withdrawCommand, input));
    const view = (await this.animals.findVisible(viewer, [animalId])).get(animalId);
    if (view === undefined) throw notFound('animal');
    return { animal: toAnimalType(view) };
  }
}
