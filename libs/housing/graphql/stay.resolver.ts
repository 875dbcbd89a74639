import { Args, ArgsType, Field, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, AnimalType, loadAnimal, toAnimalType } from '../../animal/index.js';
import { type Day, dayOf, invalidInput, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import {
  type ConnectionOf,
  CurrentViewer,
  DayType,
  Loaders,
  PageArgs,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { HousingReadStore } from '../store/housing-read.store.js';
import { loadCompanions, loadEnclosure, loadResidents, loadStays } from './housing.loaders.js';
import { toEnclosureType } from './housing.resolver.js';
import {
  CompanionshipConnection,
  CompanionshipType,
  EnclosureType,
  StayConnection,
  StayType,
} from './housing.types.js';

const KNOWN_AT = 'What was in the records at that moment; now when left out.';

/** Who is or was in an enclosure. */
@Resolver(() => EnclosureType)
export class EnclosureStaysResolver {
  constructor(
    private readonly housing: HousingReadStore,
    private readonly clock: Clock,
  ) {}

  @ResolveField(() => StayConnection, { description: 'The animals and lots in it on a day, longest there first.' })
  async residents(
    @Parent() enclosure: EnclosureType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
    @Args('on', { type: () => DayType, nullable: true, description: 'Today when left out.' }) on?: Day | null,
    @Args('knownAt', { type: () => Date, nullable: true, description: KNOWN_AT }) knownAt?: Date | null,
  ): Promise<ConnectionOf<StayType>> {
    const day = on ?? dayOf(this.clock.now());
    const days = { from: day, until: day, knownAt: knownAt ?? null };
    const stays = await loadResidents(loaders, this.housing, viewer, enclosure.id, days);
    return paged(stays, args, (stay) => stay.id, toStayType);
  }
}

@ArgsType()
class CompanionArgs extends PageArgs {
  @Field(() => DayType, { nullable: true, description: 'From the beginning when left out.' })
  from?: Day | null;

  @Field(() => DayType, { nullable: true, description: 'Today when left out.' })
  until?: Day | null;

  @Field(() => Date, { nullable: true, description: KNOWN_AT })
  knownAt?: Date | null;
}

/** Where an animal is and was, and with whom: in own enclosures, for their keeper and nobody else. */
@Resolver(() => AnimalType)
export class AnimalStaysResolver {
  constructor(
    private readonly housing: HousingReadStore,
    private readonly clock: Clock,
  ) {}

  @ResolveField(() => StayConnection, { description: 'Its stays in own enclosures, in the order of their days.' })
  async stays(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
    @Args('knownAt', { type: () => Date, nullable: true, description: KNOWN_AT }) knownAt?: Date | null,
  ): Promise<ConnectionOf<StayType>> {
    const days = { from: null, until: dayOf(this.clock.now()), knownAt: knownAt ?? null };
    return paged(await loadStays(loaders, this.housing, viewer, view.id, days), args, (stay) => stay.id, toStayType);
  }

  @ResolveField(() => CompanionshipConnection, {
    description: 'Who shared an own enclosure with it on days from `from` to `until`, both included.',
  })
  async companions(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
    @Args() args: CompanionArgs,
  ): Promise<ConnectionOf<CompanionshipType>> {
    const { from = null, until, knownAt = null } = args;
    const days = { from, until: until ?? dayOf(this.clock.now()), knownAt };
    if (days.from !== null && days.until < days.from)
      throw invalidInput([{ path: 'until', message: 'It is before `from`.', remedy: 'Give the later day here.' }]);
    const shared = await loadCompanions(loaders, this.housing, viewer, view.id, days);
    return paged(
      shared,
      args,
      (stay) => `${stay.companionId} ${stay.from}`,
      (stay) => ({ from: stay.from, until: stay.to, animalId: stay.companionId, enclosureId: stay.enclosureId }),
    );
  }
}

/** The animal of a stay where the viewer may see it, and the enclosure. */
@Resolver(() => StayType)
export class StayResolver {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly housing: HousingReadStore,
  ) {}

  @ResolveField(() => AnimalType, { nullable: true, description: 'Null where it is not shown to the viewer.' })
  async animal(
    @Parent() stay: Pick<StayType, 'animalId'>,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    const view = await loadAnimal(loaders, this.animals, viewer, stay.animalId);
    return view === null ? null : toAnimalType(view);
  }

  @ResolveField(() => EnclosureType, { nullable: true })
  async enclosure(
    @Parent() stay: Pick<StayType, 'enclosureId'>,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<EnclosureType | null> {
    const enclosure = await loadEnclosure(loaders, this.housing, viewer, stay.enclosureId);
    return enclosure === null ? null : toEnclosureType(enclosure);
  }
}

/** The same for days together. */
@Resolver(() => CompanionshipType)
export class CompanionshipResolver {
  constructor(private readonly stay: StayResolver) {}

  @ResolveField(() => AnimalType, { nullable: true, description: 'Null where it is not shown to the viewer.' })
  async animal(
    @Parent() together: CompanionshipType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType | null> {
    return this.stay.animal(together, viewer, loaders);
  }

  @ResolveField(() => EnclosureType, { nullable: true })
  async enclosure(
    @Parent() together: CompanionshipType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<EnclosureType | null> {
    return this.stay.enclosure(together, viewer, loaders);
  }
}

/** A page of a list that is in memory already. */
function paged<R, T>(
  rows: readonly R[],
  args: PageArgs,
  keyOf: (row: R) => string,
  toNode: (row: R) => T,
): ConnectionOf<T> {
  const page = toPage(args, 1);
  const after = page.after?.[0];
  const start = after === undefined ? 0 : rows.findIndex((row) => keyOf(row) === after) + 1;
  return toConnection(rows.slice(start, start + page.first + 1), page.first, (row) => [keyOf(row)], toNode);
}

function toStayType(stay: { id: string; animalId: string; enclosureId: string; from: Day; to: Day | null }): StayType {
  return { id: stay.id, from: stay.from, until: stay.to, animalId: stay.animalId, enclosureId: stay.enclosureId };
}
