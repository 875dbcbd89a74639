import { Args, Mutation, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, type AnimalType, conflictWarnings, MarkReadStore, toAnimalType } from '../../animal/index.js';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer, parseInput } from '../../platform/graphql/index.js';
import { ChangeLot } from '../app/change-lot.js';
import { CorrectLotChange } from '../app/correct-lot-change.js';
import { JoinLots } from '../app/join-lots.js';
import { RaiseFromLot } from '../app/raise-from-lot.js';
import { type JoinLoss } from '../store/lot-change.store.js';
import {
  correctLotChangeCommand,
  CorrectLotChangeInput,
  CorrectLotChangePayload,
  findInLotCommand,
  FindInLotInput,
  FindInLotPayload,
  joinLotsCommand,
  JoinLotsInput,
  JoinLotsPayload,
  loseFromLotCommand,
  LoseFromLotInput,
  LoseFromLotPayload,
  raiseFromLotCommand,
  RaiseFromLotInput,
  RaiseFromLotPayload,
  recountLotCommand,
  RecountLotInput,
  RecountLotPayload,
} from './lot.inputs.js';

const UNKNOWN: Readonly<Record<JoinLoss, string>> = {
  birth: 'The two lots do not say the same of their birth: the day now spans both, or is not known.',
  origin: 'The two lots do not say the same of their origin: it is now not known.',
  sire: 'The two lots do not have the same sire: it is now not known.',
  dam: 'The two lots do not have the same dam: it is now not known.',
};

@Resolver()
export class LotResolver {
  constructor(
    private readonly change: ChangeLot,
    private readonly correction: CorrectLotChange,
    private readonly join: JoinLots,
    private readonly raise: RaiseFromLot,
    private readonly animals: AnimalReadStore,
    private readonly marks: MarkReadStore,
  ) {}

  @Mutation(() => LoseFromLotPayload, { description: 'Records that some of a lot died or are gone.' })
  @Authorize('animal.change-lot')
  async loseFromLot(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: LoseFromLotInput,
  ): Promise<LoseFromLotPayload> {
    const { lotId } = await this.change.execute(viewer, parseInput(loseFromLotCommand, input));
    return { lot: await this.show(viewer, lotId) };
  }

  @Mutation(() => FindInLotPayload, { description: 'Records that some of those that were gone from a lot are back.' })
  @Authorize('animal.change-lot')
  async findInLot(@CurrentViewer() viewer: Viewer, @Args('input') input: FindInLotInput): Promise<FindInLotPayload> {
    const { lotId } = await this.change.execute(viewer, parseInput(findInLotCommand, input));
    return { lot: await this.show(viewer, lotId) };
  }

  @Mutation(() => RecountLotPayload, {
    description: 'A lot was counted or estimated anew. The difference is shown in the stock book as unaccounted.',
  })
  @Authorize('animal.change-lot')
  async recountLot(@CurrentViewer() viewer: Viewer, @Args('input') input: RecountLotInput): Promise<RecountLotPayload> {
    const { lotId } = await this.change.execute(viewer, parseInput(recountLotCommand, input));
    return { lot: await this.show(viewer, lotId) };
  }

  @Mutation(() => CorrectLotChangePayload, {
    description:
      'Corrects number, day or cause of what a lot lost or found again, or takes it back, with a reason. `Animal.countChanges` names the changes.',
  })
  @Authorize('animal.change-lot')
  async correctLotChange(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: CorrectLotChangeInput,
  ): Promise<CorrectLotChangePayload> {
    const { lotId } = await this.correction.execute(viewer, parseInput(correctLotChangeCommand, input));
    return { lot: await this.show(viewer, lotId) };
  }

  @Mutation(() => JoinLotsPayload, {
    description: 'Puts all of one lot into another of the same keeper, taxon, line and owners.',
  })
  @Authorize('animal.change-lot')
  async joinLots(@CurrentViewer() viewer: Viewer, @Args('input') input: JoinLotsInput): Promise<JoinLotsPayload> {
    const { intoLotId, unknown } = await this.join.execute(viewer, parseInput(joinLotsCommand, input));
    return {
      lot: await this.show(viewer, intoLotId),
      warnings: unknown.map((what) => ({ code: `LOT_JOIN_${what.toUpperCase()}_UNKNOWN`, message: UNKNOWN[what] })),
    };
  }

  @Mutation(() => RaiseFromLotPayload, {
    description:
      'Registers individuals out of a lot. They keep its parents, birth, origin, holder, owners, documents and quarantine.',
  })
  @Authorize('animal.change-lot')
  async raiseFromLot(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RaiseFromLotInput,
  ): Promise<RaiseFromLotPayload> {
    const { command, warnings } = parseInput(raiseFromLotCommand, input);
    const { lotId, animalIds } = await this.raise.execute(viewer, command);
    const views = await this.animals.findVisible(viewer, animalIds);
    const conflicts = await this.marks.findConflicts(animalIds);
    return {
      lot: await this.show(viewer, lotId),
      animals: animalIds.flatMap((id) => views.get(id) ?? []).map(toAnimalType),
      warnings: [...warnings, ...animalIds.flatMap((id) => conflictWarnings(conflicts.get(id) ?? []))],
    };
  }

  private async show(viewer: Viewer, id: string): Promise<AnimalType> {
    const view = (await this.animals.findVisible(viewer, [id])).get(id);
    if (view === undefined) throw notFound('animal');
    return toAnimalType(view);
  }
}
