import { Parent, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import { fieldsShown } from '../../access/index.js';
import { AnimalType } from '../../animal/index.js';
import { Clock } from '../../platform/clock.js';
import { Loaders, RequestLoaders } from '../../platform/graphql/index.js';
import { animalState } from '../core/quarantine.core.js';
import { QuarantineReadStore, type StoredQuarantine } from '../store/quarantine-read.store.js';
import { AnimalQuarantineType } from './quarantine.types.js';

const OPEN = Symbol('quarantine groups with an open entry');

@Resolver(() => AnimalType)
export class AnimalQuarantineResolver {
  constructor(
    private readonly quarantines: QuarantineReadStore,
    private readonly clock: Clock,
  ) {}

  @ResolveField(() => AnimalQuarantineType, {
    nullable: true,
    description: 'For the keeper who has it, its owners and a guest; null when it is not in quarantine today.',
  })
  async quarantine(
    @Parent() { view }: AnimalType,
    @Loaders() loaders: RequestLoaders,
  ): Promise<AnimalQuarantineType | null> {
    if (!fieldsShown(view.level).health) return null;
    const loader = loaders.get<string, StoredQuarantine | null>(
      OPEN,
      () =>
        new DataLoader(async (ids) => {
          const found = await this.quarantines.findOpen(ids);
          return ids.map((id) => found.get(id) ?? null);
        }),
    );
    const group = await loader.load(view.id);
    if (group === null) return null;
    const state = animalState(group, view.id, this.clock.today());
    if (state.kind !== 'in_quarantine') return null;
    // What the keeper calls the group, and what else is in it, is no part of this animal's record.
    return { until: state.until, group: view.level === 'full' ? { id: group.id, name: group.name } : null };
  }
}
