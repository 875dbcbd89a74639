import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, AnimalType } from '../../animal/index.js';
import { EnclosureType, HousingReadStore, loadEnclosure, toEnclosureType } from '../../housing/index.js';
import { type Viewer } from '../../kernel/index.js';
import { type ConnectionOf, CurrentViewer, Loaders, PageArgs, RequestLoaders } from '../../platform/graphql/index.js';
import { showAnimal } from './animal-breeding.resolver.js';
import { paged } from './breeding.loaders.js';
import { EggEventConnection, EggEventType, EggType } from './clutch.types.js';

/** One egg of a clutch. */
@Resolver(() => EggType)
export class EggResolver {
  constructor(private readonly animals: AnimalReadStore) {}

  @ResolveField(() => EggEventConnection, {
    description: 'Its own events and those of the whole clutch, in the order of recording.',
  })
  events(@Parent() egg: EggType, @Args() args: PageArgs): ConnectionOf<EggEventType> {
    return paged(
      egg.events,
      args,
      (event) => event.id,
      (event) => event,
    );
  }

  @ResolveField(() => [AnimalType], {
    description: 'The young that came out of it, as far as they are shown: at most two.',
  })
  async young(
    @Parent() egg: EggType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalType[]> {
    const young = await Promise.all(egg.youngIds.map((id) => showAnimal(this.animals, id, viewer, loaders)));
    return young.filter((animal) => animal !== null);
  }
}

@Resolver(() => EggEventType)
export class EggEventResolver {
  constructor(private readonly housing: HousingReadStore) {}

  @ResolveField(() => EnclosureType, { nullable: true, description: 'Shown to its own keeper only.' })
  async enclosure(
    @Parent() event: EggEventType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<EnclosureType | null> {
    if (event.enclosureId === null) return null;
    const enclosure = await loadEnclosure(loaders, this.housing, viewer, event.enclosureId);
    return enclosure === null ? null : toEnclosureType(enclosure);
  }
}
