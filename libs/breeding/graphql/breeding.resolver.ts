import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, toAnimalType } from '../../animal/index.js';
import { KnownAnswerType } from '../../housing/index.js';
import { type Viewer } from '../../kernel/index.js';
import { ParentageBasisType } from '../../lineage/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { CorrectBreedingFact } from '../app/correct-breeding-fact.js';
import { RecordClutch } from '../app/record-clutch.js';
import { RecordHatching } from '../app/record-hatching.js';
import { RecordMating } from '../app/record-mating.js';
import {
  correctBreedingFactCommand,
  recordClutchCommand,
  recordHatchingCommand,
  recordMatingCommand,
} from './breeding.schema.js';
import {
  CorrectBreedingFactInput,
  CorrectBreedingFactPayload,
  RecordClutchInput,
  RecordClutchPayload,
  RecordHatchingInput,
  RecordHatchingPayload,
  RecordMatingInput,
  RecordMatingPayload,
} from './breeding.types.js';

@Resolver()
export class BreedingResolver {
  constructor(
    private readonly matings: RecordMating,
    private readonly clutches: RecordClutch,
    private readonly hatchings: RecordHatching,
    private readonly corrections: CorrectBreedingFact,
    private readonly animals: AnimalReadStore,
  ) {}

  @Mutation(() => RecordMatingPayload, { description: 'Records a mating of a dam an own keeper has or owns.' })
  @Authorize('breeding.record-mating')
  async recordMating(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordMatingInput,
  ): Promise<RecordMatingPayload> {
    const command = parseInput(recordMatingCommand, input);
    const { matingId } = await this.matings.execute(viewer, command);
    const { damId, sireId, when } = command;
    const [basis, controlled] = [ParentageBasisType[command.basis], KnownAnswerType[command.controlled]];
    return { mating: { id: matingId, damId, sireId, basis, controlled, when } };
  }

  @Mutation(() => RecordClutchPayload, { description: 'Records a clutch of a dam an own keeper has or owns.' })
  @Authorize('breeding.record-clutch')
  async recordClutch(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordClutchInput,
  ): Promise<RecordClutchPayload> {
    const command = parseInput(recordClutchCommand, input);
    const { clutchId } = await this.clutches.execute(viewer, command);
    const { eggCount, laid, foundOn } = command;
    return { clutch: { id: clutchId, eggCount, controlled: KnownAnswerType[command.controlled], laid, foundOn } };
  }

  @Mutation(() => RecordHatchingPayload, {
    description: 'Records from which clutch an animal or lot came that an own keeper has or owns.',
  })
  @Authorize('breeding.record-hatching')
  async recordHatching(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordHatchingInput,
  ): Promise<RecordHatchingPayload> {
    const command = parseInput(recordHatchingCommand, input);
    const { hatchingId } = await this.hatchings.execute(viewer, command);
    return { hatching: { id: hatchingId, controlled: KnownAnswerType[command.controlled], when: command.when } };
  }

  @Mutation(() => CorrectBreedingFactPayload, {
    description: 'Corrects or takes back a mating, clutch or hatching that an own keeper recorded.',
  })
  @Authorize('breeding.correct-fact')
  async correctBreedingFact(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: CorrectBreedingFactInput,
  ): Promise<CorrectBreedingFactPayload> {
    const command = parseInput(correctBreedingFactCommand, input);
    const { factId, animalId } = await this.corrections.execute(viewer, command);
    const view = (await this.animals.findVisible(viewer, [animalId])).get(animalId);
    return { factId, animal: view === undefined ? null : toAnimalType(view) };
  }
}
