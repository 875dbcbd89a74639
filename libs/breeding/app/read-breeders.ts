import { Injectable } from '@nestjs/common';
import { actsFor, type Viewer } from '../../kernel/index.js';
import { type Breeder } from '../core/breeders.core.js';
import { type ClutchStanding, type Dealing, tellBreeders, type ToldBreeder } from '../core/breeders-told.core.js';
import { atMoment, BreedingReadStore } from '../store/breeding-read.store.js';
import { BreedersStore } from '../store/breeders.store.js';
import { breedersOf } from './breeders-of.js';

/** Who bred the young of a clutch, named by its first version, by what was recorded at a moment; null = now. */
export type BreedersAt = (
  originalId: string,
  at: Date | null,
) => { readonly breeders: readonly Breeder[]; readonly dealings: readonly Dealing[] };

/** Reads who bred clutches and young, for papers and packs. */
@Injectable()
export class ReadBreeders {
  constructor(
    private readonly store: BreedersStore,
    private readonly breeding: BreedingReadStore,
  ) {}

  /** A fixed number of statements, however many clutches. No scope: the caller has the clutches from the viewer's, and tells no names. */
  async read(originalIds: readonly string[]): Promise<BreedersAt> {
    const versions = await this.store.findVersions(originalIds);
    const damIds = [...versions.values()].flat().flatMap(({ dams }) => dams.map(({ id }) => id));
    const dams = await this.store.findDams([...new Set(damIds)]);
    const bounds = await this.breeding.findBounds([...new Set([...dams.values()].map(({ taxonId }) => taxonId))]);
    return (originalId, at) => {
      const clutch = atMoment(versions.get(originalId) ?? [], at).at(-1);
      if (clutch === undefined) return { breeders: [], dealings: [] };
      const taxonId = dams.get(clutch.dams[0]?.id ?? '')?.taxonId ?? '';
      return {
        breeders: breedersOf(clutch, dams, bounds.get(taxonId) ?? {}, at),
        dealings: clutch.dams.flatMap(({ id }) => dams.get(id)?.dealings ?? []),
      };
    };
  }

  /** What the viewer is told of who bred animals whose records it reads; those it is told nothing of are left out. */
  async ofYoung(
    viewer: Viewer,
    animals: readonly { readonly id: string; readonly readsUntil: Date | null }[],
  ): Promise<Map<string, ToldBreeder[]>> {
    const hatchings = await this.breeding.findHatchings(animals.map(({ id }) => id));
    const found = animals.flatMap(({ id, readsUntil }) => {
      const hatching = atMoment(hatchings.get(id) ?? [], readsUntil).at(-1);
      return hatching === undefined ? [] : [{ id, readsUntil, hatching }];
    });
    const breedersAt = await this.read(found.map(({ hatching }) => hatching.originalId));
    const mine = viewer.keepers.map(({ keeperId }) => keeperId);
    return new Map(
      found.flatMap(({ id, readsUntil, hatching: { originalId, clutchKeeperId, keeperId } }) => {
        const standing = youngStanding(viewer, clutchKeeperId, keeperId);
        const { breeders, dealings } = breedersAt(originalId, readsUntil);
        const told = tellBreeders(breeders, { standing, mine, clutchKeeperId, dealings });
        return told === null || told.length === 0 ? [] : [[id, told] as const];
      }),
    );
  }
}

/** What the viewer is to young of a clutch. */
export function youngStanding(viewer: Viewer, clutchKeeperId: string, hatchedWith: string): ClutchStanding {
  if (actsFor(viewer, clutchKeeperId)) return 'keeper';
  return actsFor(viewer, hatchedWith) ? 'hatched_with' : 'none';
}
