import { Args, ID, Mutation, Query, Resolver } from '@nestjs/graphql';
import { z } from 'zod';
import { actsFor, type Day, invalidInput, notFound, parseDay, type Viewer } from '../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  PageArgs,
  parseInput,
  toConnection,
  toPage,
} from '../platform/graphql/index.js';
import { type Enclosure, HousingReadStore } from './housing.store.js';
import {
  EnclosureConnection,
  EnclosureType,
  KnownAnswerType,
  PlaceAnimalsInput,
  PlaceAnimalsPayload,
  RecordEnclosureInput,
  RecordEnclosurePayload,
} from './housing.types.js';
import { PlaceAnimals } from './place-animals.js';
import { RecordEnclosure } from './record-enclosure.js';
import { idInput } from '../platform/input/index.js';

const day = z
  .string()
  .refine((text) => parseDay(text) !== null)
  .transform((text) => text as Day)
  .nullish()
  .transform((value) => value ?? null);

const recordEnclosureCommand = z.object({
  keeperId: idInput,
  name: z
    .string()
    .trim()
    .min(1, 'A name has at least one character. | Write how you call it.')
    .max(100, 'Longer than 100 characters. | Shorten it.'),
  controlled: z
    .enum(['yes', 'no', 'unknown'])
    .nullish()
    .transform((value) => value ?? 'unknown'),
  controlledSince: day,
});

const placeAnimalsCommand = z.object({
  enclosureId: idInput,
  animalIds: z
    .array(idInput)
    .min(1, 'No animal is named. | Name at least one.')
    .max(100, 'More than 100 animals. | Place them in several steps.'),
  from: day,
});

@Resolver()
export class HousingResolver {
  constructor(
    private readonly enclosuresOf: HousingReadStore,
    private readonly record: RecordEnclosure,
    private readonly place: PlaceAnimals,
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
    const after = page.after?.[0] ?? null;
    if (after !== null && !z.uuid().safeParse(after).success) {
      throw invalidInput([
        {
          path: 'after',
          message: 'This is not a cursor of this list.',
          remedy: 'Use `endCursor` of the page before, or leave it out.',
        },
      ]);
    }
    const rows = await this.enclosuresOf.pageOfKeeper(keeperId, page.first, after);
    return toConnection(rows, page.first, (row) => [row.id], toEnclosureType);
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

  @Mutation(() => PlaceAnimalsPayload, {
    description:
      'Places animals an own keeper has in an enclosure of that keeper; their stays before end the same day.',
  })
  @Authorize('housing.place-animals')
  async placeAnimals(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: PlaceAnimalsInput,
  ): Promise<PlaceAnimalsPayload> {
    const { enclosureId } = await this.place.execute(viewer, parseInput(placeAnimalsCommand, input));
    return { enclosure: await this.show(viewer, enclosureId) };
  }

  private async show(viewer: Viewer, enclosureId: string): Promise<EnclosureType> {
    const keepers = viewer.keepers.map((keeper) => keeper.keeperId);
    return toEnclosureType(await this.enclosuresOf.getOwn(keepers, enclosureId));
  }
}

function toEnclosureType(enclosure: Enclosure): EnclosureType {
  return {
    id: enclosure.id,
    name: enclosure.name,
    controlled: KnownAnswerType[enclosure.controlled],
    controlledSince: enclosure.controlledSince,
  };
}
