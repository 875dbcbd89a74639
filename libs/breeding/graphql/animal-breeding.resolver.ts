import { Args, Parent, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { AnimalReadStore, AnimalType, type AnimalView, loadAnimal, toAnimalType } from '../../animal/index.js';
import { KnownAnswerType } from '../../housing/index.js';
import { type Viewer } from '../../kernel/index.js';
import { ParentageBasisType } from '../../lineage/index.js';
import {
  type ConnectionOf,
  CurrentViewer,
  Loaders,
  PageArgs,
  RequestLoaders,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import {
  atMoment,
  BreedingReadStore,
  type StoredClutch,
  type StoredHatching,
  type StoredMating,
} from '../store/breeding-read.store.js';
import { ClutchConnection, type ClutchType, HatchingType, MatingConnection, MatingType } from './breeding.types.js';

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
    const load = (ids: readonly string[]) => this.breeding.findMatings(ids);
    const facts = await shown<StoredMating>(loaders, MATINGS, load, view);
    return facts === null ? null : newestFirst(facts, args, toMatingType);
  }

  @ResolveField(() => ClutchConnection, { nullable: true, description: 'Of this dam; last recorded first.' })
  async clutches(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<ClutchType> | null> {
    const load = (ids: readonly string[]) => this.breeding.findClutches(ids);
    const facts = await shown<StoredClutch>(loaders, CLUTCHES, load, view);
    return facts === null ? null : newestFirst(facts, args, toClutchType);
  }

  @ResolveField(() => HatchingType, { nullable: true, description: 'How it came out of a recorded clutch.' })
  async hatching(@Parent() { view }: AnimalType, @Loaders() loaders: RequestLoaders): Promise<HatchingType | null> {
    const load = (ids: readonly string[]) => this.breeding.findHatchings(ids);
    const hatching = (await shown<StoredHatching>(loaders, HATCHINGS, load, view))?.at(-1);
    if (hatching === undefined) return null;
    return { id: hatching.id, controlled: KnownAnswerType[hatching.controlled], when: hatching.when };
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
    return this.show(mating.damId, viewer, loaders);
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
    return mating.sireId === null ? null : this.show(mating.sireId, viewer, loaders);
  }

  private async show(id: string, viewer: Viewer, loaders: RequestLoaders): Promise<AnimalType | null> {
    const view = await loadAnimal(loaders, this.animals, viewer, id);
    return view === null ? null : toAnimalType(view);
  }
}

async function shown<T extends { recordedAt: Date; supersededAt: Date | null }>(
  loaders: RequestLoaders,
  key: symbol,
  load: (ids: readonly string[]) => Promise<Map<string, T[]>>,
  view: AnimalView,
): Promise<T[] | null> {
  if (view.record === null) return null;
  const loader = loaders.get<string, T[]>(
    key,
    () =>
      new DataLoader(async (ids) => {
        const found = await load(ids);
        return ids.map((id) => found.get(id) ?? []);
      }),
  );
  return atMoment(await loader.load(view.id), view.readsUntil);
}

/** A page of facts, which come in the order they were recorded. */
function newestFirst<F extends { id: string }, T>(
  facts: readonly F[],
  args: PageArgs,
  toNode: (fact: F) => T,
): ConnectionOf<T> {
  const page = toPage(args, 1);
  const newest = facts.toReversed();
  const after = page.after?.[0];
  const start = after === undefined ? 0 : newest.findIndex((fact) => fact.id === after) + 1;
  return toConnection(newest.slice(start, start + page.first + 1), page.first, (fact) => [fact.id], toNode);
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

function toClutchType(clutch: StoredClutch): ClutchType {
  return {
    id: clutch.id,
    eggCount: clutch.eggCount,
    controlled: KnownAnswerType[clutch.controlled],
    laid: clutch.laid,
    foundOn: clutch.foundOn,
  };
}
