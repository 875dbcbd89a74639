import { Injectable } from '@nestjs/common';
import { actsFor, type Day, type Viewer } from '../../kernel/index.js';
import { type EggState, eggState, lastPlace } from '../core/egg.core.js';
import { eggReadsUntil, type IncubatedDays, incubatedDays } from '../core/egg-holder.core.js';
import { atMoment, BreedingReadStore, type StoredClutch } from '../store/breeding-read.store.js';
import { type StoredEggEvent } from '../store/egg.store.js';
import { type Breeder } from '../core/breeders.core.js';
import { ReadBreeders } from './read-breeders.js';
import { type ParentProposal } from './propose-parents.js';
import { ReadProposal } from './read-proposal.js';

/** Eggs of one clutch, named by its first version. */
export type EggsWanted = { readonly clutchId: string; readonly numbers: readonly number[] };

/** An egg as the viewer reads it; where it lies is its keeper's own affair, what kind of place is the egg's. */
export type EggRecord = {
  readonly number: number;
  readonly state: EggState;
  readonly topMarked: boolean;
  readonly place: 'enclosure' | 'incubator' | null;
  readonly celsius: number | null;
  /** Until the day asked about. */
  readonly incubatedDays: IncubatedDays | null;
  readonly events: readonly StoredEggEvent[];
};

export type EggsOfClutch = {
  readonly clutch: StoredClutch;
  readonly eggs: readonly EggRecord[];
  /** Who bred them; the caller tells no names. */
  readonly breeders: readonly Breeder[];
  /** Who can be their parents by the records the viewer reads; null for whoever had the eggs and has them no more. */
  readonly parents: Pick<ParentProposal, 'sires' | 'sireBasis' | 'damBasis'> | null;
};

/** Reads eggs with what happened to each, up to the moment to which the viewer reads it. */
@Injectable()
export class ReadEggRecords {
  constructor(
    private readonly breeding: BreedingReadStore,
    private readonly proposal: ReadProposal,
    private readonly breeders: ReadBreeders,
  ) {}

  /** Clutches that are not shown to the viewer are left out. `on` is the day to which days of incubation are counted. */
  async execute(viewer: Viewer, wanted: readonly EggsWanted[], on: Day): Promise<EggsOfClutch[]> {
    if (wanted.length === 0) return [];
    const ids = wanted.map(({ clutchId }) => clutchId);
    const clutches = await this.breeding.findAllShown(viewer, ids);
    const eggs = await this.breeding.findEggs(ids);
    const events = await this.breeding.findEggEvents(ids);
    const shares = await this.breeding.findShares(viewer, ids);
    const breedersAt = await this.breeders.read(ids);
    const mine = viewer.keepers.map(({ keeperId }) => keeperId);
    const read: EggsOfClutch[] = [];
    for (const { clutchId, numbers } of wanted) {
      const clutch = clutches.get(clutchId);
      if (clutch === undefined) continue;
      const sharedAt = shares.get(clutchId) ?? null;
      const known = (eggs.get(clutchId) ?? []).filter((egg) => numbers.includes(egg.number));
      const ends = known.map(({ periods }) => eggReadsUntil(periods, clutch.keeperId, mine, sharedAt));
      const records = known.map(({ id, number }, i): EggRecord => {
        const life = atMoment(events.get(clutchId) ?? [], ends[i] ?? null).filter(
          (event) => event.wholeClutch || event.eggId === id,
        );
        const place = lastPlace(life);
        return {
          number,
          state: eggState(life),
          topMarked: life.some(({ kind }) => kind === 'top_marked'),
          place: place === null ? null : place.enclosureId !== null ? 'enclosure' : 'incubator',
          celsius: life.findLast(({ celsius }) => celsius !== null)?.celsius ?? null,
          incubatedDays: incubatedDays(life, on),
          events: life,
        };
      });
      // Whoever had them is told nothing new: what can be said of the sire changes with every record.
      const had = actsFor(viewer, clutch.keeperId) || known.some(({ periods }) => periods.some(isOf(mine)));
      const told = ends.includes(null) || !had;
      const own = actsFor(viewer, clutch.keeperId) && ends.includes(null);
      const { breeders } = breedersAt(clutchId, own ? null : (sharedAt ?? latest(ends)));
      const parents = told ? await this.proposal.ofShown(viewer, clutch, null) : null;
      read.push({ clutch, eggs: records, breeders, parents });
    }
    return read;
  }
}

function latest(moments: readonly (Date | null)[]): Date | null {
  const known = moments.flatMap((moment) => moment?.getTime() ?? []);
  return known.length === 0 ? null : new Date(Math.max(...known));
}

const isOf =
  (mine: readonly string[]) =>
  ({ keeperId }: { readonly keeperId: string | null }): boolean =>
    keeperId !== null && mine.includes(keeperId);
