import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, toAnimalType } from '../../animal/index.js';
import { KnownAnswerType } from '../../housing/index.js';
import { notFound, type Viewer } from '../../kernel/index.js';
import { ParentageBasisType } from '../../lineage/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { CorrectBreedingFact } from '../app/correct-breeding-fact.js';
import { RecordClutch } from '../app/record-clutch.js';
import { RecordHatching } from '../app/record-hatching.js';
import { RecordMating } from '../app/record-mating.js';
import { BreedingReadStore } from '../store/breeding-read.store.js';
import { toHatchingType } from './animal-breeding.resolver.js';
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
import { toClutchType } from './clutch.types.js';

@Resolver()
export class BreedingResolver {
  constructor(
    private readonly matings: RecordMating,
    private readonly clutches: RecordClutch,
    private readonly hatchings: RecordHatching,
    private readonly corrections: CorrectBreedingFact,
    private readonly animals: AnimalReadStore,
    private readonly breeding: BreedingReadStore,
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

  @Mutation(() => RecordClutchPayload, {
    description:
      'Records a clutch, or young born at one time, of a dam an own keeper has or owns, or of one of several.',
  })
  @Authorize('breeding.record-clutch')
  async recordClutch(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordClutchInput,
  ): Promise<RecordClutchPayload> {
    const { clutchId, warnings } = await this.clutches.execute(viewer, parseInput(recordClutchCommand, input));
    const clutch = await this.breeding.findShown(viewer, clutchId);
    if (clutch === null) throw notFound('clutch');
    return { clutch: toClutchType(clutch, null), warnings };
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
    const { hatchingId, warnings, ...clutch } = await this.hatchings.execute(viewer, command);
    return { hatching: toHatchingType({ ...command, ...clutch, id: hatchingId }, null), warnings };
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
