import { Parent, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { fieldsShown } from '../../access/index.js';
import { AnimalType } from '../../animal/index.js';
import { type Viewer } from '../../kernel/index.js';
import { CurrentViewer, Loaders, RequestLoaders } from '../../platform/graphql/index.js';
import { CustodyReadStore, type HolderFacts, OUTSIDE_LABEL, type OwnershipFacts } from '../store/custody-read.store.js';
import { AnimalOwnershipType, HolderKindType, HolderType } from './custody.types.js';

const HOLDERS = Symbol('holders');
const OWNERSHIPS = Symbol('ownerships');

const LABELS: Readonly<Record<HolderFacts['kind'], string>> = {
  keeper: 'A keeper',
  carrier: 'On the way',
  veterinarian: 'With a veterinarian',
  authority: 'With an authority',
  outside_party: OUTSIDE_LABEL,
  unknown: 'Not known',
};

@Resolver(() => AnimalType)
export class HolderResolver {
  constructor(private readonly custody: CustodyReadStore) {}

  @ResolveField(() => HolderType, {
    nullable: true,
    description: 'Who has it now; null where nobody has, or where it is not shown.',
  })
  async holder(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<HolderType | null> {
    const shown = fieldsShown(view.level);
    if (!shown.holder && !shown.holderIfShown) return null;
    const loader = loaders.get<string, HolderFacts | null>(
      HOLDERS,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.custody.findHolders(viewer, ids);
          return ids.map((id) => found.get(id) ?? null);
        }),
    );
    const holder = await loader.load(view.id);
    if (holder === null || (!shown.holder && !holder.shown)) return null;
    const named = holder.kind === 'keeper' || holder.ownContact;
    return {
      kind: HolderKindType[holder.kind],
      label: (named ? holder.name : null) ?? LABELS[holder.kind],
      keeperId: holder.keeperId,
    };
  }

  @ResolveField(() => AnimalOwnershipType, {
    nullable: true,
    description: 'Whose it is, for those who have or own it. Null where it belongs to nobody any more.',
  })
  async ownership(
    @Parent() { view }: AnimalType,
    @CurrentViewer() viewer: Viewer,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalOwnershipType | null> {
    if (!fieldsShown(view.level).papers) return null;
    const loader = loaders.get<string, OwnershipFacts | null>(
      OWNERSHIPS,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.custody.findOwnership(viewer, ids);
          return ids.map((id) => found.get(id) ?? null);
        }),
    );
    return loader.load(view.id);
  }
}
