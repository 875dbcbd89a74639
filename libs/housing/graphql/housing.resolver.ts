import { Args, ID, Mutation, Query, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, toAnimalType } from '../../animal/index.js';
import { actsFor, isId, notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  idAfter,
  PageArgs,
  parseInput,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { CorrectStay } from '../app/correct-stay.js';
import { PlaceAnimals } from '../app/place-animals.js';
import { RecordEnclosure } from '../app/record-enclosure.js';
import { UpdateEnclosure } from '../app/update-enclosure.js';
import { type Enclosure, HousingReadStore } from '../store/housing-read.store.js';
import {
  correctStayCommand,
  placeAnimalsCommand,
  recordEnclosureCommand,
  updateEnclosureCommand,
} from './housing.schema.js';
import {
  CorrectStayInput,
  CorrectStayPayload,
  EnclosureConnection,
  EnclosureSettingType,
  EnclosureType,
  KnownAnswerType,
  PlaceAnimalsInput,
  PlaceAnimalsPayload,
  RecordEnclosureInput,
  RecordEnclosurePayload,
  UpdateEnclosureInput,
  UpdateEnclosurePayload,
} from './housing.types.js';

@Resolver()
export class HousingResolver {
  constructor(
    private readonly housing: HousingReadStore,
    private readonly record: RecordEnclosure,
    private readonly update: UpdateEnclosure,
    private readonly place: PlaceAnimals,
    private readonly correct: CorrectStay,
    private readonly animals: AnimalReadStore,
  ) {}

  @Query(() => EnclosureConnection, {
    description: 'The enclosures of an own keeper, in the order they were recorded.',
  })
  @Authorize('housing.read')
  async enclosures(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<EnclosureType>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const page = toPage(args, 1);
    const after = idAfter(page.after);
    const rows = await this.housing.pageOfKeeper(keeperId, page.first, after);
    return toConnection(rows, page.first, (row) => [row.id], toEnclosureType);
  }

  @Query(() => EnclosureType, { description: 'One enclosure of an own keeper.' })
  @Authorize('housing.read')
  async enclosure(@CurrentViewer() viewer: Viewer, @Args('id', { type: () => ID }) id: string): Promise<EnclosureType> {
    if (!isId(id)) throw notFound('enclosure');
    return this.show(viewer, id);
  }

  @Mutation(() => RecordEnclosurePayload, { description: 'Records an enclosure of an own keeper.' })
  @Authorize('housing.record-enclosure')
  async recordEnclosure(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordEnclosureInput,
  ): Promise<RecordEnclosurePayload> {
    const { enclosureId } = await this.record.execute(viewer, parseInput(recordEnclosureCommand, input));
    return { enclosure: await this.show(viewer, enclosureId) };
  }

  @Mutation(() => UpdateEnclosurePayload, {
    description: 'Changes what an own enclosure is called and where it stands.',
  })
  @Authorize('housing.update-enclosure')
  async updateEnclosure(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: UpdateEnclosureInput,
  ): Promise<UpdateEnclosurePayload> {
    const { enclosureId } = await this.update.execute(viewer, parseInput(updateEnclosureCommand, input));
    return { enclosure: await this.show(viewer, enclosureId) };
  }

  @Mutation(() => PlaceAnimalsPayload, {
    description:
      'Places animals an own keeper has in an enclosure of that keeper; their stays before end the same day.',
  })
  @Authorize('housing.place-animals')
  async placeAnimals(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: PlaceAnimalsInput,
  ): Promise<PlaceAnimalsPayload> {
    const { enclosureId, warnings } = await this.place.execute(viewer, parseInput(placeAnimalsCommand, input));
    return { enclosure: await this.show(viewer, enclosureId), warnings };
  }

  @Mutation(() => CorrectStayPayload, {
    description: 'Corrects a stay in an own enclosure, or takes it back. What was believed before is kept.',
  })
  @Authorize('housing.correct-stay')
  async correctStay(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: CorrectStayInput,
  ): Promise<CorrectStayPayload> {
    const { stayId, animalId } = await this.correct.execute(viewer, parseInput(correctStayCommand, input));
    const view = (await this.animals.findVisible(viewer, [animalId])).get(animalId);
    return { stayId, animal: view === undefined ? null : toAnimalType(view) };
  }

  private async show(viewer: Viewer, enclosureId: string): Promise<EnclosureType> {
    const keepers = viewer.keepers.map((keeper) => keeper.keeperId);
    return toEnclosureType(await this.housing.getOwn(keepers, enclosureId));
  }
}

/** GraphQL form of an enclosure. */
export function toEnclosureType(enclosure: Enclosure): EnclosureType {
  return {
    id: enclosure.id,
    name: enclosure.name,
    setting: EnclosureSettingType[enclosure.setting],
    room: enclosure.room,
    controlled: KnownAnswerType[enclosure.controlled],
    controlledSince: enclosure.controlledSince,
  };
}
