import { Injectable } from '@nestjs/common';
import { groupMean, meanKinship } from '../genetics/index.js';
import { type Day } from '../kernel/index.js';
import { Clock } from '../platform/clock.js';
import { LineageReadStore } from './lineage-read.store.js';
import { LivePedigree } from './live-pedigree.js';
import { type PedigreeSnapshot } from './pedigree-snapshot.core.js';

/** The living individuals of a taxon as a reference population, and how each animal is related to them. */
export type Living = {
  readonly snapshot: PedigreeSnapshot;
  /** One flag an animal of the snapshot: 1 = lives. */
  readonly group: Uint8Array;
  readonly size: number;
  /** Mean kinship of each animal of the snapshot with the living; all zero when nobody lives. */
  readonly meanKinship: Float64Array;
  /** Average of the mean kinships of the living, or null when nobody lives. */
  readonly populationMeanKinship: number | null;
  readonly asOf: Day;
};

/** Reference populations, computed afresh: a death changes them without a change of lineage. Lots have no single set of genes and are left out. */
@Injectable()
export class LivingPopulation {
  constructor(
    private readonly pedigrees: LivePedigree,
    private readonly store: LineageReadStore,
    private readonly clock: Clock,
  ) {}

  /** All living individuals of the taxon, shared or not, or only those of `ids`. */
  async of(taxonId: string, ids?: readonly string[]): Promise<Living> {
    const living = ids ?? (await this.store.findLiving(taxonId));
    const snapshot = await this.pedigrees.of(taxonId);
    const group = new Uint8Array(snapshot.ids.length);
    for (const id of living) {
      const index = snapshot.indexOf.get(id);
      if (index !== undefined) group[index] = 1;
    }
    const size = group.reduce((sum, member) => sum + member, 0);
    const none = size === 0;
    const kinships = none ? new Float64Array(group.length) : meanKinship(snapshot.pedigree, snapshot.inbreeding, group);
    return {
      snapshot,
      group,
      size,
      meanKinship: kinships,
      populationMeanKinship: none ? null : groupMean(kinships, group),
      asOf: this.clock.today(),
    };
  }
}
