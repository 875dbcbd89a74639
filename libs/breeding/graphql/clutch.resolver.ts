import { Args, ID, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, AnimalType } from '../../animal/index.js';
import { EnclosureType, HousingReadStore, loadEnclosure, toEnclosureType } from '../../housing/index.js';
import { actsFor, dayOf, isId, notFound, type Viewer } from '../../kernel/index.js';
import { ParentageBasisType } from '../../lineage/index.js';
import { Clock } from '../../platform/clock.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  Loaders,
  PageArgs,
  RequestLoaders,
} from '../../platform/graphql/index.js';
import { ReadProposal } from '../app/read-proposal.js';
import { eggState, isOver, lastPlace } from '../core/egg.core.js';
import { eggReadsUntil, incubatedDays } from '../core/egg-holder.core.js';
import { forecastHatch } from '../core/forecast.core.js';
import { atMoment, BreedingReadStore } from '../store/breeding-read.store.js';
import { type StoredEggEvent } from '../store/egg.store.js';
import { showAnimal, toForecastType, toHatchingType } from './animal-breeding.resolver.js';
import { earlier, load, loadBounds, loadClutchDays, loadSharedAt, paged } from './breeding.loaders.js';
import { HatchingConnection, HatchingType } from './breeding.types.js';
import {
  CandlingType,
  ClutchType,
  EggConnection,
  EggEventConnection,
  EggEventKindType,
  EggEventType,
  EggPlaceType,
  EggStateType,
  EggType,
  ForecastType,
  ParentProposalType,
  PossibleParentType,
  toClutchType,
} from './clutch.types.js';
import { WeighingType } from './hatchling.types.js';

const EVENTS = Symbol('egg events');
const EGGS = Symbol('eggs');
const YOUNG = Symbol('young of clutches');

/** Whether an event was recorded for a keeper of the viewer: only they read where it was. */
function ownOf({ facts }: ClutchType, viewer: Viewer, event: StoredEggEvent): boolean {
  return actsFor(viewer, event.keeperId ?? facts.keeperId);
}

/** A clutch, its eggs and what it leads to. */
@Resolver(() => ClutchType)
export class ClutchResolver {
  constructor(
    private readonly breeding: BreedingReadStore,
    private readonly housing: HousingReadStore,
    private readonly animals: AnimalReadStore,
    private readonly proposal: ReadProposal,
    private readonly clock: Clock,
  ) {}

  @Query(() => ClutchType, {
    description: 'A clutch that an own keeper recorded, or of a dam whose record is shown. Any version’s id will do.',
  })
  @Authorize('breeding.read')
  async clutch(@CurrentViewer() viewer: Viewer, @Args('id', { type: () => ID }) id: string): Promise<ClutchType> {
    const clutch = isId(id) ? await this.breeding.findShown(viewer, id) : null;
    if (clutch === null) throw notFound('clutch');
    return toClutchType(clutch, null);
  }

  @Query(() => ParentProposalType, {
    description: 'Who can be the parents of a clutch by the records the viewer may read; nothing is written.',
  })
  @Authorize('breeding.read')
  async parentProposal(
    @CurrentViewer() viewer: Viewer,
    @Args('clutchId', { type: () => ID }) clutchId: string,
    @Args('weighing', { type: () => WeighingType, nullable: true, description: '`equal` when left out.' })
    weighing?: WeighingType | null,
  ): Promise<ParentProposalType> {
    if (!isId(clutchId)) throw notFound('clutch');
    const proposal = await this.proposal.execute(viewer, clutchId, weighing ?? null);
    return {
      dams: proposal.dams.map(({ id, probability }) => ({ animalId: id, probability, sharedDays: null })),
      damBasis: ParentageBasisType[proposal.damBasis],
      sires: proposal.sires.map(({ id, probability, sharedDays }) => ({ animalId: id, probability, sharedDays })),
      sireBasis: ParentageBasisType[proposal.sireBasis],
      windowFrom: proposal.window.from,
      windowUntil: proposal.window.until,
      warnings: [...proposal.warnings],
    };
  }

  @ResolveField(() => EnclosureType, {
    nullable: true,
    description: 'Where it was laid; shown to its own keeper only.',
  })
  async enclosure(
    @Parent() { facts }: ClutchType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<EnclosureType | null> {
    if (facts.enclosureId === null) return null;
    const enclosure = await loadEnclosure(loaders, this.housing, viewer, facts.enclosureId);
    return enclosure === null ? null : toEnclosureType(enclosure);
  }

  @ResolveField(() => EggConnection, {
    description: 'Its eggs by number; those nothing is recorded of too, where their number is known.',
  })
  async eggs(
    @Parent() clutch: ClutchType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<EggType>> {
    return paged(
      await this.eggsOf(clutch, viewer, loaders),
      args,
      (egg) => String(egg.number),
      (egg) => egg,
    );
  }

  @ResolveField(() => EggEventConnection, {
    description: 'What is recorded of all its eggs together, in the order of recording.',
  })
  async events(
    @Parent() clutch: ClutchType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<EggEventType>> {
    const until = earlier(clutch.at, await this.clutchUntil(clutch, viewer, loaders));
    const whole = atMoment(await this.eventsOf(clutch, loaders), until).filter((event) => event.wholeClutch);
    return paged(
      whole,
      args,
      (event) => event.id,
      (event) => toEggEventType(event, ownOf(clutch, viewer, event)),
    );
  }

  @ResolveField(() => HatchingConnection, {
    description: 'The young that came out of it, in the order they were recorded.',
  })
  async hatchings(
    @Parent() clutch: ClutchType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<HatchingType>> {
    const { facts } = clutch;
    const young = await load(loaders, YOUNG, (ids) => this.breeding.findYoung(ids), facts.originalId);
    const untilOf = await this.untilOf(clutch, viewer, loaders);
    const shown = (young ?? []).filter((each) => {
      if (each.eggId === null && each.keeperId !== facts.keeperId && !actsFor(viewer, each.keeperId)) return false;
      return atMoment([each], earlier(clutch.at, untilOf(each.eggId))).length > 0;
    });
    return paged(
      shown,
      args,
      (each) => each.id,
      (each) => toHatchingType(each, clutch.at),
    );
  }

  @ResolveField(() => ForecastType, {
    nullable: true,
    description: 'When young are to be expected; null where nothing is known to go by, or nothing is left to hatch.',
  })
  async hatchForecast(
    @Parent() clutch: ClutchType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<ForecastType | null> {
    const { facts, at } = clutch;
    const [dam] = facts.dams;
    if (facts.kind === 'born' || dam === undefined || at !== null) return null;
    const eggs = await this.eggsOf(clutch, viewer, loaders);
    if (eggs.length > 0 && eggs.every((egg) => isOver(egg.state))) return null;
    const view = await showAnimal(this.animals, dam.id, viewer, loaders);
    const shared = (await this.sharedAt(clutch, viewer, loaders)) !== null;
    const taxonId = view?.view.taxonId ?? (shared ? await this.breeding.findTaxon(facts) : null);
    if (taxonId === null) return null;
    // Her other clutches are told to those alone who read her record of today: others, and past holders, get the profile's days.
    const isRead = view !== null && view.view.record !== null && view.view.readsUntil === null;
    const others = facts.dams.length > 1 || !isRead ? [] : await loadClutchDays(loaders, this.breeding, dam.id);
    const earlier = others.flatMap(({ originalId, laid, hatched }) =>
      originalId === facts.originalId || hatched === null ? [] : [{ laid, hatched }],
    );
    const { incubationDays } = await loadBounds(loaders, this.breeding, taxonId);
    const laid = { earliest: facts.laid?.earliest ?? null, latest: facts.laid?.latest ?? facts.foundOn };
    return toForecastType(forecastHatch(laid, earlier, incubationDays));
  }

  /** All versions; readers cut them to what is theirs to read. */
  private async eventsOf({ facts }: ClutchType, loaders: RequestLoaders): Promise<StoredEggEvent[]> {
    return (await load(loaders, EVENTS, (ids) => this.breeding.findEggEvents(ids), facts.originalId)) ?? [];
  }

  private async sharedAt({ facts }: ClutchType, viewer: Viewer, loaders: RequestLoaders): Promise<Date | null> {
    return loadSharedAt(loaders, this.breeding, viewer, facts.originalId);
  }

  /** Up to when the viewer reads what is recorded of the whole clutch. */
  private async clutchUntil(clutch: ClutchType, viewer: Viewer, loaders: RequestLoaders): Promise<Date | null> {
    return actsFor(viewer, clutch.facts.keeperId) ? null : this.sharedAt(clutch, viewer, loaders);
  }

  /** Up to when the viewer reads what is recorded of an egg; null = of the clutch alone. */
  private async untilOf(
    clutch: ClutchType,
    viewer: Viewer,
    loaders: RequestLoaders,
  ): Promise<(eggId: string | null) => Date | null> {
    const { keeperId, originalId } = clutch.facts;
    const eggs = (await load(loaders, EGGS, (ids) => this.breeding.findEggs(ids), originalId)) ?? [];
    const mine = viewer.keepers.map((keeper) => keeper.keeperId);
    const sharedAt = await this.sharedAt(clutch, viewer, loaders);
    const whole = await this.clutchUntil(clutch, viewer, loaders);
    const periods = new Map(eggs.map((egg) => [egg.id, egg.periods]));
    return (eggId) => (eggId === null ? whole : eggReadsUntil(periods.get(eggId) ?? [], keeperId, mine, sharedAt));
  }

  private async eggsOf(clutch: ClutchType, viewer: Viewer, loaders: RequestLoaders): Promise<EggType[]> {
    const { facts, at } = clutch;
    if (facts.kind === 'born') return [];
    const events = await this.eventsOf(clutch, loaders);
    const untilOf = await this.untilOf(clutch, viewer, loaders);
    const eggs = (await load(loaders, EGGS, (ids) => this.breeding.findEggs(ids), facts.originalId)) ?? [];
    const byNumber = new Map(eggs.map((egg) => [egg.number, egg]));
    const count = Math.max(facts.eggCount ?? 0, ...byNumber.keys());
    const whole = untilOf(null);
    return Array.from({ length: count }, (_, i): EggType => {
      const egg = byNumber.get(i + 1);
      const until = earlier(at, egg === undefined ? whole : untilOf(egg.id));
      const life = atMoment(events, until).filter((event) => event.wholeClutch || event.eggId === egg?.id);
      const place = lastPlace(life);
      const state = eggState(life);
      const holder = egg?.periods.at(-1) ?? { keeperId: facts.keeperId };
      return {
        id: egg?.id ?? null,
        number: i + 1,
        state: EggStateType[state],
        own: holder.keeperId === null ? null : actsFor(viewer, holder.keeperId),
        topMarked: life.some(({ kind }) => kind === 'top_marked'),
        incubatedDays: isOver(state) ? null : incubatedDays(life, dayOf(until ?? this.clock.now())),
        place: place === null ? null : toEggEventType(place, ownOf(clutch, viewer, place)),
        events: life.map((event) => toEggEventType(event, ownOf(clutch, viewer, event))),
        youngIds: atMoment(egg?.young ?? [], until).map(({ animalId }) => animalId),
      };
    });
  }
}

/** A possible parent, where the viewer may see it. */
@Resolver(() => PossibleParentType)
export class PossibleParentResolver {
  constructor(private readonly animals: AnimalReadStore) {}

  @ResolveField(() => AnimalType, { nullable: true })
  async animal(
    @Parent() parent: PossibleParentType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return showAnimal(this.animals, parent.animalId, viewer, loaders);
  }
}

/** The animal of a hatching, where the viewer may see it. */
@Resolver(() => HatchingType)
export class HatchingResolver {
  constructor(private readonly animals: AnimalReadStore) {}

  @ResolveField(() => AnimalType, { nullable: true })
  async animal(
    @Parent() hatching: HatchingType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return showAnimal(this.animals, hatching.animalId, viewer, loaders);
  }
}

function toEggEventType(event: StoredEggEvent, own: boolean): EggEventType {
  const placeKind =
    event.enclosureId !== null ? EggPlaceType.enclosure : event.incubator !== null ? EggPlaceType.incubator : null;
  return {
    placeKind,
    id: event.id,
    kind: EggEventKindType[event.kind],
    wholeClutch: event.wholeClutch,
    when: event.written,
    celsius: event.celsius,
    candling: event.candling === null ? null : CandlingType[event.candling],
    incubator: own ? event.incubator : null,
    recordedAt: event.recordedAt,
    enclosureId: event.enclosureId,
  };
}
