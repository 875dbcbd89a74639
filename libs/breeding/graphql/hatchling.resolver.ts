import { Args, ID, Mutation, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, AnimalType, toAnimalType } from '../../animal/index.js';
import { HousingReadStore, toEnclosureType } from '../../housing/index.js';
import { actsFor, notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  idAfter,
  Loaders,
  PageArgs,
  parseInput,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { CorrectEggEvent } from '../app/correct-egg-event.js';
import { MoveFamily } from '../app/move-family.js';
import { PlanPairing } from '../app/plan-pairing.js';
import { RecordEggEvents } from '../app/record-egg-events.js';
import { RecordHatchlings } from '../app/record-hatchlings.js';
import { BreedingReadStore } from '../store/breeding-read.store.js';
import { type Pairing, PairingReadStore } from '../store/pairing.store.js';
import { showAnimal } from './animal-breeding.resolver.js';
import { type ClutchType, toClutchType } from './clutch.types.js';
import {
  correctEggEventCommand,
  movePairingCommand,
  planPairingCommand,
  recordEggEventsCommand,
} from './egg.schema.js';
import { moveFamilyCommand, recordHatchlingsCommand } from './hatchling.schema.js';
import {
  CorrectEggEventInput,
  EggEventsPayload,
  MoveFamilyInput,
  MoveFamilyPayload,
  MovePairingInput,
  PairingConnection,
  PairingPayload,
  PairingStateType,
  PairingType,
  PlanPairingInput,
  RecordEggEventsInput,
  RecordHatchlingsInput,
  RecordHatchlingsPayload,
} from './hatchling.types.js';

/** Eggs and young. */
@Resolver()
export class HatchlingResolver {
  constructor(
    private readonly eggs: RecordEggEvents,
    private readonly corrections: CorrectEggEvent,
    private readonly hatchlings: RecordHatchlings,
    private readonly breeding: BreedingReadStore,
    private readonly animals: AnimalReadStore,
  ) {}

  @Mutation(() => EggEventsPayload, {
    description:
      'Records what happened to some eggs of a clutch that an own keeper recorded, or to all that were left.',
  })
  @Authorize('breeding.record-egg-events')
  async recordEggEvents(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordEggEventsInput,
  ): Promise<EggEventsPayload> {
    const { clutchId, warnings } = await this.eggs.execute(viewer, parseInput(recordEggEventsCommand, input));
    return { clutch: await this.show(viewer, clutchId), warnings };
  }

  @Mutation(() => EggEventsPayload, { description: 'Corrects what was recorded of eggs, or takes it back.' })
  @Authorize('breeding.record-egg-events')
  async correctEggEvent(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: CorrectEggEventInput,
  ): Promise<EggEventsPayload> {
    const { clutchId } = await this.corrections.execute(viewer, parseInput(correctEggEventCommand, input));
    return { clutch: await this.show(viewer, clutchId), warnings: [] };
  }

  @Mutation(() => RecordHatchlingsPayload, {
    description:
      'Registers the young of a clutch, or young that were found, with hatchings, eggs and parents: all of it or nothing.',
  })
  @Authorize('breeding.record-hatchlings')
  async recordHatchlings(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: RecordHatchlingsInput,
  ): Promise<RecordHatchlingsPayload> {
    const { command, warnings } = parseInput(recordHatchlingsCommand, input);
    const made = await this.hatchlings.execute(viewer, command);
    const views = await this.animals.findVisible(viewer, made.animalIds);
    return {
      young: made.animalIds.flatMap((id) => {
        const view = views.get(id);
        return view === undefined ? [] : [toAnimalType(view)];
      }),
      clutch: made.clutchId === null ? null : await this.show(viewer, made.clutchId),
      warnings: [...warnings, ...made.warnings],
    };
  }

  private async show(viewer: Viewer, clutchId: string): Promise<ClutchType> {
    const clutch = await this.breeding.findShown(viewer, clutchId);
    if (clutch === null) throw notFound('clutch');
    return toClutchType(clutch, null);
  }
}

/** Moves of whole families. */
@Resolver()
export class FamilyResolver {
  constructor(
    private readonly families: MoveFamily,
    private readonly housing: HousingReadStore,
  ) {}

  @Mutation(() => MoveFamilyPayload, {
    description:
      'Moves animals an own keeper has, together with their eggs, to another enclosure: all of them or none.',
  })
  @Authorize('breeding.move-family')
  async moveFamily(@CurrentViewer() viewer: Viewer, @Args('input') input: MoveFamilyInput): Promise<MoveFamilyPayload> {
    const { enclosureId, ...moved } = await this.families.execute(viewer, parseInput(moveFamilyCommand, input));
    const keepers = viewer.keepers.map((keeper) => keeper.keeperId);
    return { enclosure: toEnclosureType(await this.housing.getOwn(keepers, enclosureId)), ...moved };
  }
}

/** Planned pairings. */
@Resolver(() => PairingType)
export class PairingResolver {
  constructor(
    private readonly pairings: PairingReadStore,
    private readonly plan: PlanPairing,
    private readonly animals: AnimalReadStore,
  ) {}

  @Query(() => PairingConnection, {
    name: 'pairings',
    description: 'What an own keeper plans and planned, last planned first.',
  })
  @Authorize('breeding.read-pairings')
  async list(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<PairingType>> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const page = toPage(args, 1);
    const before = idAfter(page.after);
    const rows = await this.pairings.pageOfKeeper(keeperId, page.first, before);
    return toConnection(rows, page.first, (row) => [row.id], toPairingType);
  }

  @Mutation(() => PairingPayload, { description: 'Plans a pairing. A plan is evidence of nothing.' })
  @Authorize('breeding.plan-pairing')
  async planPairing(@CurrentViewer() viewer: Viewer, @Args('input') input: PlanPairingInput): Promise<PairingPayload> {
    const { pairingId } = await this.plan.execute(viewer, parseInput(planPairingCommand, input));
    return this.show(viewer, pairingId);
  }

  @Mutation(() => PairingPayload, { description: 'Moves a plan on: under way, ended, or dropped.' })
  @Authorize('breeding.plan-pairing')
  async movePairing(@CurrentViewer() viewer: Viewer, @Args('input') input: MovePairingInput): Promise<PairingPayload> {
    const { pairingId } = await this.plan.move(viewer, parseInput(movePairingCommand, input));
    return this.show(viewer, pairingId);
  }

  @ResolveField(() => AnimalType, { nullable: true, description: 'Null where it is not shown to the viewer any more.' })
  async dam(
    @Parent() pairing: PairingType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return showAnimal(this.animals, pairing.damId, viewer, loaders);
  }

  @ResolveField(() => AnimalType, { nullable: true, description: 'Null where it is not shown to the viewer any more.' })
  async sire(
    @Parent() pairing: PairingType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return showAnimal(this.animals, pairing.sireId, viewer, loaders);
  }

  private async show(viewer: Viewer, id: string): Promise<PairingPayload> {
    const keepers = viewer.keepers.map((keeper) => keeper.keeperId);
    const pairing = await this.pairings.findOwn(keepers, id);
    if (pairing === null) throw notFound('pairing');
    return { pairing: toPairingType(pairing) };
  }
}

function toPairingType(pairing: Pairing): PairingType {
  const { id, from, until, note, version, damId, sireId } = pairing;
  return { id, state: PairingStateType[pairing.state], from, until, note, version, damId, sireId };
}
