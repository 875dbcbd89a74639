import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, AnimalType, conflictWarnings, MarkReadStore, toAnimalType } from '../../animal/index.js';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { RecordDeath } from '../app/record-death.js';
import { RegisterStock } from '../app/register-stock.js';
import { SplitLot } from '../app/split-lot.js';
import {
  RecordDeathInput,
  RecordDeathPayload,
  RegisterAnimalInput,
  RegisterAnimalPayload,
  RegisterLotInput,
  RegisterLotPayload,
  SplitLotInput,
  SplitLotPayload,
} from './register.inputs.js';
import { recordDeathCommand, registerAnimalCommand, registerLotCommand, splitLotCommand } from './register.schema.js';

@Resolver()
export class RegisterResolver {
  constructor(
    private readonly register: RegisterStock,
    private readonly split: SplitLot,
    private readonly death: RecordDeath,
    private readonly animals: AnimalReadStore,
    private readonly marks: MarkReadStore,
  ) {}

  @Mutation(() => RegisterAnimalPayload, { description: 'Registers an animal that an own keeper has and owns.' })
  @Authorize('animal.register')
  async registerAnimal(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RegisterAnimalInput,
  ): Promise<RegisterAnimalPayload> {
    const { command, warnings } = parseInput(registerAnimalCommand, input);
    const { animalId, warnings: parentWarnings } = await this.register.execute(viewer, command);
    const conflicts = (await this.marks.findConflicts([animalId])).get(animalId) ?? [];
    return {
      animal: await this.show(viewer, animalId),
      warnings: [...warnings, ...conflictWarnings(conflicts)],
      parentWarnings,
    };
  }

  @Mutation(() => RegisterLotPayload, {
    description: 'Registers a lot of unmarked animals that an own keeper has and owns.',
  })
  @Authorize('animal.register')
  async registerLot(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RegisterLotInput,
  ): Promise<RegisterLotPayload> {
    const { animalId, warnings } = await this.register.execute(viewer, parseInput(registerLotCommand, input));
    return { lot: await this.show(viewer, animalId), parentWarnings: warnings };
  }

  @Mutation(() => SplitLotPayload, { description: 'Takes some animals out of a lot into a record of their own.' })
  @Authorize('animal.split-lot')
  async splitLot(@CurrentViewer() viewer: Viewer, @Args('input') input: SplitLotInput): Promise<SplitLotPayload> {
    const command = parseInput(splitLotCommand, input);
    const { newLotId } = await this.split.execute(viewer, command);
    return { lot: await this.show(viewer, command.lotId), newLot: await this.show(viewer, newLotId) };
  }

  @Mutation(() => RecordDeathPayload, { description: 'Records that an animal, or some of a lot, died.' })
  @Authorize('animal.record-death')
  async recordDeath(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordDeathInput,
  ): Promise<RecordDeathPayload> {
    const { animalId } = await this.death.execute(viewer, parseInput(recordDeathCommand, input));
    return { animal: await this.show(viewer, animalId) };
  }

  private async show(viewer: Viewer, id: string): Promise<AnimalType> {
    const view = (await this.animals.findVisible(viewer, [id])).get(id);
    if (view === undefined) throw notFound('animal');
    return toAnimalType(view);
  }
}
