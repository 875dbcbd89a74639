import { Parent, ResolveField, Resolver } from '@nestjs/graphql';
import { AnimalReadStore, loadAnimal } from '../../animal/index.js';
import { actsFor, type Viewer } from '../../kernel/index.js';
import { CurrentViewer, Loaders, RequestLoaders } from '../../platform/graphql/index.js';
import { breedersOf } from '../app/breeders-of.js';
import { youngStanding } from '../app/read-breeders.js';
import { type ClutchStanding, tellBreeders } from '../core/breeders-told.core.js';
import { atMoment, BreedingReadStore, type StoredClutch } from '../store/breeding-read.store.js';
import { BreedersStore, type DamRecords } from '../store/breeders.store.js';
import { BreederCertaintyType, BreederReasonType, BreederType } from './breeder.types.js';
import { earlier, load, loadBounds, loadSharedAt } from './breeding.loaders.js';
import { HatchingType } from './breeding.types.js';
import { ClutchType } from './clutch.types.js';

const DAMS = Symbol('records of dams');
const VERSIONS = Symbol('versions of clutches');
const OUTSIDE_NAMES = Symbol('names of people outside');

/** Works out who bred a clutch, and tells the viewer what is theirs to know. */
abstract class Breeders {
  constructor(
    protected readonly breeding: BreedingReadStore,
    protected readonly store: BreedersStore,
  ) {}

  protected async tell(
    clutch: StoredClutch,
    to: { readonly standing: ClutchStanding; readonly at: Date | null },
    viewer: Viewer,
    loaders: RequestLoaders,
  ): Promise<BreederType[] | null> {
    const found = await Promise.all(
      clutch.dams.map(({ id }) => load<DamRecords>(loaders, DAMS, (ids) => this.store.findDams(ids), id)),
    );
    const dams = new Map(
      clutch.dams.flatMap(({ id }, i) => {
        const records = found[i];
        return records === undefined ? [] : [[id, records] as const];
      }),
    );
    const taxonId = found[0]?.taxonId;
    const bounds = taxonId === undefined ? {} : await loadBounds(loaders, this.breeding, taxonId);
    const mine = viewer.keepers.map(({ keeperId }) => keeperId);
    const dealings = [...dams.values()].flatMap((records) => records.dealings);
    const standing = { standing: to.standing, mine, clutchKeeperId: clutch.keeperId, dealings };
    const told = tellBreeders(breedersOf(clutch, dams, bounds, to.at), standing);
    if (told === null) return null;
    const nameOf = (partyId: string) =>
      load(loaders, OUTSIDE_NAMES, (ids) => this.store.findOutsideNames(mine, ids), partyId);
    return Promise.all(
      told.map(async ({ named, sure, why }) => ({
        keeperId: named?.kind === 'keeper' ? named.keeperId : null,
        outsideName: named?.kind === 'outside_party' ? ((await nameOf(named.outsidePartyId)) ?? null) : null,
        sure: BreederCertaintyType[sure],
        why: why.map((reason) => BreederReasonType[reason]),
      })),
    );
  }
}

@Resolver(() => ClutchType)
export class ClutchBreedersResolver extends Breeders {
  constructor(breeding: BreedingReadStore, store: BreedersStore) {
    super(breeding, store);
  }

  @ResolveField(() => [BreederType], {
    nullable: true,
    description:
      'Who bred its young. For its keeper, those it is shared with (who are told its keeper’s name alone) and its breeders.',
  })
  async breeders(
    @Parent() { facts, at }: ClutchType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<BreederType[] | null> {
    const clutch = { ...facts, supersededAt: null };
    if (actsFor(viewer, facts.keeperId)) return this.tell(clutch, { standing: 'keeper', at }, viewer, loaders);
    const sharedAt = await loadSharedAt(loaders, this.breeding, viewer, facts.originalId);
    const standing = sharedAt === null ? 'none' : 'shared';
    return this.tell(clutch, { standing, at: earlier(at, sharedAt) }, viewer, loaders);
  }
}

@Resolver(() => HatchingType)
export class HatchingBreedersResolver extends Breeders {
  constructor(
    breeding: BreedingReadStore,
    store: BreedersStore,
    private readonly animals: AnimalReadStore,
  ) {
    super(breeding, store);
  }

  @ResolveField(() => [BreederType], {
    nullable: true,
    description: 'Who bred it. For the keeper of the clutch, the one it hatched with and its breeders.',
  })
  async breeders(
    @Parent() { animalId, clutchId, clutchKeeperId, hatchedWith, ...hatching }: HatchingType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<BreederType[] | null> {
    const standing = youngStanding(viewer, clutchKeeperId, hatchedWith);
    // What is found out once the young have left is not theirs to read with whom they hatched.
    const left = standing === 'hatched_with' ? await loadAnimal(loaders, this.animals, viewer, animalId) : null;
    const at = earlier(hatching.at, left?.readsUntil ?? null);
    const versions = await load(loaders, VERSIONS, (ids) => this.store.findVersions(ids), clutchId);
    const clutch = atMoment(versions ?? [], at).at(-1);
    if (clutch === undefined) return null;
    return this.tell(clutch, { standing, at }, viewer, loaders);
  }
}
