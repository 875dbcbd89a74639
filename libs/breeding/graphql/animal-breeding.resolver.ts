import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../../animal/index.js';
import { KnownAnswerType } from '../../housing/index.js';
import { type Viewer } from '../../kernel/index.js';
import { ParentageBasisType } from '../../lineage/index.js';
import { type ConnectionOf, CurrentViewer, Loaders, PageArgs, RequestLoaders } from '../../platform/graphql/index.js';
import { forecastClutch, type Forecast } from '../core/forecast.core.js';
import { BreedingReadStore, type StoredHatching, type StoredMating } from '../store/breeding-read.store.js';
import { loadBounds, loadClutchDays, loadShown, paged } from './breeding.loaders.js';
import { HatchingType, MatingConnection, MatingType } from './breeding.types.js';
import {
  BreedingForecastType,
  ClutchConnection,
  type ClutchType,
  ForecastBasisType,
  type ForecastType,
  toClutchType,
} from './clutch.types.js';

const MATINGS = Symbol('matings');
const CLUTCHES = Symbol('clutches');
const HATCHINGS = Symbol('hatchings');

/** Breeding facts go with an animal's record: whoever reads only its lineage reads none, a past holder those of their time. */
@Resolver(() => AnimalType)
export class AnimalBreedingResolver {
  constructor(private readonly breeding: BreedingReadStore) {}

  @ResolveField(() => MatingConnection, { nullable: true, description: 'As dam or sire; last recorded first.' })
  async matings(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<MatingType> | null> {
    const facts = await loadShown(loaders, MATINGS, (ids) => this.breeding.findMatings(ids), view);
    return facts === null ? null : paged(facts.toReversed(), args, (fact) => fact.id, toMatingType);
  }

  @ResolveField(() => ClutchConnection, {
    nullable: true,
    description: 'Of this dam, and those she is a candidate for; last recorded first.',
  })
  async clutches(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<ClutchType> | null> {
    const facts = await loadShown(loaders, CLUTCHES, (ids) => this.breeding.findClutches(ids), view);
    const toNode = (clutch: Parameters<typeof toClutchType>[0]) => toClutchType(clutch, view.readsUntil);
    return facts === null ? null : paged(facts.toReversed(), args, (fact) => fact.id, toNode);
  }

  @ResolveField(() => HatchingType, { nullable: true, description: 'How it came out of a recorded clutch.' })
  async hatching(@Parent() { view }: AnimalType, @Loaders() loaders: RequestLoaders): Promise<HatchingType | null> {
    const found = await loadShown(loaders, HATCHINGS, (ids) => this.breeding.findHatchings(ids), view);
    const hatching = found?.at(-1);
    return hatching === undefined ? null : toHatchingType(hatching, view.readsUntil);
  }

  @ResolveField(() => BreedingForecastType, {
    nullable: true,
    description: 'What is to be expected of this dam; null where her present record is not shown.',
  })
  async breedingForecast(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
  ): Promise<BreedingForecastType | null> {
    if (view.record === null || view.readsUntil !== null || view.kind === 'lot') return null;
    const clutches = await loadClutchDays(loaders, this.breeding, view.id);
    const { clutchIntervalDays } = await loadBounds(loaders, this.breeding, view.taxonId);
    const forecast = forecastClutch(
      clutches.map(({ laid }) => laid),
      clutchIntervalDays,
    );
    return { nextClutch: toForecastType(forecast) };
  }
}

/** The other animal of a mating, where the viewer may see it. */
@Resolver(() => MatingType)
export class MatingResolver {
  constructor(private readonly animals: AnimalReadStore) {}

  @ResolveField(() => AnimalType, { nullable: true, description: 'Null where it is not shown to the viewer.' })
  async dam(
    @Parent() mating: MatingType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return showAnimal(this.animals, mating.damId, viewer, loaders);
  }

  @ResolveField(() => AnimalType, {
    nullable: true,
    description: 'Null where it is not known, or not shown to the viewer.',
  })
  async sire(
    @Parent() mating: MatingType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return mating.sireId === null ? null : showAnimal(this.animals, mating.sireId, viewer, loaders);
  }
}

/** An animal where the viewer may see it, or null. */
export async function showAnimal(
  animals: AnimalReadStore,
  id: string,
  viewer: Viewer,
  loaders: RequestLoaders,
): Promise<AnimalType | null> {
  const view = await loadAnimal(loaders, animals, viewer, id);
  return view === null ? null : toAnimalType(view);
}

/** GraphQL form of a forecast. */
export function toForecastType(forecast: Forecast | null): ForecastType | null {
  return forecast === null ? null : { ...forecast, basis: ForecastBasisType[forecast.basis] };
}

/** GraphQL form of a hatching as read up to a moment; null = now. */
export function toHatchingType(
  hatching: Omit<StoredHatching, 'eggId' | 'recordedAt' | 'supersededAt'>,
  at: Date | null,
): HatchingType {
  const { id, animalId, eggNumber, controlled, when, originalId: clutchId, clutchKeeperId, keeperId } = hatching;
  const shown = { id, animalId, eggNumber, controlled: KnownAnswerType[controlled], when };
  return { ...shown, clutchId, clutchKeeperId, hatchedWith: keeperId, at };
}

function toMatingType(mating: StoredMating): MatingType {
  return {
    id: mating.id,
    damId: mating.damId,
    sireId: mating.sireId,
    basis: ParentageBasisType[mating.basis],
    controlled: KnownAnswerType[mating.controlled],
    when: mating.when,
  };
}
