import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, type AnimalType, toAnimalType } from '../../animal/index.js';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { CorrectFate } from '../app/correct-fate.js';
import { RecordFate } from '../app/record-fate.js';
import {
  correctFateCommand,
  CorrectFateInput,
  CorrectFatePayload,
  recordFateCommand,
  RecordFateInput,
  RecordFatePayload,
} from './fate.inputs.js';

@Resolver()
export class FateResolver {
  constructor(
    private readonly fate: RecordFate,
    private readonly correction: CorrectFate,
    private readonly animals: AnimalReadStore,
  ) {}

  @Mutation(() => RecordFatePayload, {
    description:
      'Records that an animal or a whole lot is missing, stolen, escaped, seized, surrendered, or found again.',
  })
  @Authorize('animal.record-fate')
  async recordFate(@CurrentViewer() viewer: Viewer, @Args('input') input: RecordFateInput): Promise<RecordFatePayload> {
    const { animalId } = await this.fate.execute(viewer, parseInput(recordFateCommand, input));
    return { animal: await this.show(viewer, animalId) };
  }

  @Mutation(() => CorrectFatePayload, {
    description:
      'Corrects a death, or that an animal or a whole lot is missing, stolen, escaped, seized, surrendered or gone, or takes it back, with a reason.',
  })
  @Authorize('animal.record-fate')
  async correctFate(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: CorrectFateInput,
  ): Promise<CorrectFatePayload> {
    const { animalId } = await this.correction.execute(viewer, parseInput(correctFateCommand, input));
    return { animal: await this.show(viewer, animalId) };
  }

  private async show(viewer: Viewer, id: string): Promise<AnimalType> {
    const view = (await this.animals.findVisible(viewer, [id])).get(id);
    if (view === undefined) throw notFound('animal');
    return toAnimalType(view);
  }
}
