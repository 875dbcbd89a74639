import { Injectable } from '@nestjs/common';
import { actsFor, type DaySpan, type Viewer } from '../../kernel/index.js';
import { eggState, inOrder, isOver } from '../core/egg.core.js';
import { eggReadsUntil } from '../core/egg-holder.core.js';
import { atMoment, BreedingReadStore, type StoredClutch } from '../store/breeding-read.store.js';
import { tellBreeders, type ToldBreeder } from '../core/breeders-told.core.js';
import { ReadBreeders } from './read-breeders.js';
import { ReadProposal } from './read-proposal.js';

/** What a viewer reads of an egg that something is recorded of. */
export type PaperEggFacts = {
  readonly id: string;
  readonly number: number;
  /** It has hatched or come to nothing. */
  readonly over: boolean;
  readonly topMarked: boolean;
  /** The days on which its incubation can have begun; null = none is recorded. */
  readonly incubatedFrom: DaySpan | null;
  /** Every temperature recorded of it, in degrees Celsius. */
  readonly celsius: readonly number[];
};

/** A clutch as far as it is shown, with its eggs and the possible sires by the records the viewer reads. */
export type PaperClutch = {
  readonly clutch: StoredClutch;
  readonly taxonId: string | null;
  readonly eggs: readonly PaperEggFacts[];
  readonly sireIds: readonly string[];
  /** Who bred them, as far as the viewer is told; null = not at all. */
  readonly breeders: readonly ToldBreeder[] | null;
};

/** Reads what a paper says of clutches and their eggs, for whoever gives or receives some of them. */
@Injectable()
export class ReadPaperEggs {
  constructor(
    private readonly breeding: BreedingReadStore,
    private readonly proposal: ReadProposal,
    private readonly breeders: ReadBreeders,
  ) {}

  /** By the ids asked for; those not shown are left out. */
  async execute(viewer: Viewer, clutchIds: readonly string[]): Promise<Map<string, PaperClutch>> {
    const shown = await this.breeding.findAllShown(viewer, clutchIds);
    const ids = [...shown.values()].map(({ originalId }) => originalId);
    const eggs = await this.breeding.findEggs(ids);
    const events = await this.breeding.findEggEvents(ids);
    const shares = await this.breeding.findShares(viewer, ids);
    const breedersAt = await this.breeders.read(ids);
    const mine = viewer.keepers.map(({ keeperId }) => keeperId);
    const records = new Map<string, PaperClutch>();
    for (const [id, clutch] of shown) {
      const { originalId, keeperId } = clutch;
      const sharedAt = shares.get(originalId) ?? null;
      const read = (eggs.get(originalId) ?? []).map((egg): PaperEggFacts => {
        const until = eggReadsUntil(egg.periods, keeperId, mine, sharedAt);
        const own = (events.get(originalId) ?? []).filter((event) => event.wholeClutch || event.eggId === egg.id);
        const life = inOrder(atMoment(own, until));
        return {
          id: egg.id,
          number: egg.number,
          over: isOver(eggState(life)),
          topMarked: life.some(({ kind }) => kind === 'top_marked'),
          incubatedFrom: life.find(({ kind }) => kind === 'incubated')?.when ?? null,
          celsius: life.flatMap((event) => event.celsius ?? []),
        };
      });
      const { sires } = await this.proposal.execute(viewer, id, null);
      const taxonId = await this.breeding.findTaxon(clutch);
      const standing = actsFor(viewer, keeperId) ? 'keeper' : sharedAt === null ? 'none' : 'shared';
      const { breeders, dealings } = breedersAt(originalId, sharedAt);
      const told = tellBreeders(breeders, { standing, mine, clutchKeeperId: keeperId, dealings });
      records.set(id, { clutch, taxonId, eggs: read, sireIds: sires.map((sire) => sire.id), breeders: told });
    }
    return records;
  }
}
