import { Args, Mutation, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { AnimalReadStore, AnimalType, toAnimalType } from '../../animal/index.js';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { Authorize, CurrentViewer, Loaders, parseInput, RequestLoaders } from '../../platform/graphql/index.js';
import { SetBreedingAvailability, setAvailabilityCommand } from '../app/set-breeding-availability.js';
import { type Availability, availabilityOn } from '../core/availability.core.js';
import { AvailabilityStore } from '../store/availability.store.js';
import {
  BreedingAvailabilityType,
  BreedingOfferType,
  SetBreedingAvailabilityInput,
  SetBreedingAvailabilityPayload,
} from './availability.types.js';

const AVAILABILITY = Symbol('availability');

@Resolver(() => AnimalType)
export class AvailabilityResolver {
  constructor(
    private readonly set: SetBreedingAvailability,
    private readonly availability: AvailabilityStore,
    private readonly animals: AnimalReadStore,
    private readonly clock: Clock,
  ) {}

  @ResolveField(() => Boolean, {
    nullable: true,
    description:
      'Whether its holder calls it open for breeding today; null where nothing is said, or it is not shown to you.',
  })
  async openForBreeding(@Parent() { view }: AnimalType, @Loaders() loaders: RequestLoaders): Promise<boolean | null> {
    if (view.level !== 'full' && view.level !== 'club') return null;
    return availabilityOn(await this.load(loaders, view.id), this.clock.today())?.open ?? null;
  }

  @ResolveField(() => BreedingAvailabilityType, {
    nullable: true,
    description:
      'What its holder says of it as a mate, in full: for those who have or own it. Null where nothing is said.',
  })
  async breedingAvailability(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
  ): Promise<BreedingAvailabilityType | null> {
    if (view.level !== 'full') return null;
    const said = await this.load(loaders, view.id);
    return said === null ? null : { ...said, offers: said.offers.map((offer) => BreedingOfferType[offer]) };
  }

  @Mutation(() => SetBreedingAvailabilityPayload, {
    description:
      'The keeper who has an animal says whether it is open for breeding. Others in the club read yes or no; it lapses when the animal goes to another keeper.',
  })
  @Authorize('matching.set-availability')
  async setBreedingAvailability(
    @CurrentViewer() viewer: Viewer,
    @Args('input') input: SetBreedingAvailabilityInput,
  ): Promise<SetBreedingAvailabilityPayload> {
    const command = parseInput(setAvailabilityCommand, { ...input, open: input.open ?? null });
    const { animalId } = await this.set.execute(viewer, command);
    const view = (await this.animals.findVisible(viewer, [animalId])).get(animalId);
    if (view === undefined) throw notFound('animal');
    return { animal: toAnimalType(view) };
  }

  private load(loaders: RequestLoaders, animalId: string): Promise<Availability | null> {
    const loader = loaders.get<string, Availability | null>(
      AVAILABILITY,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.availability.findCurrent(ids);
          return ids.map((id) => found.get(id) ?? null);
        }),
    );
    return loader.load(animalId);
  }
}
