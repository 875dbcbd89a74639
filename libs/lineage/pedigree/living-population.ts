import { Injectable } from '@nestjs/common';
import { type Day } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { Compute } from '../../platform/compute/index.js';
import { LivePedigree } from './live-pedigree.js';
import { meanKinshipInThread } from './load-pedigree.js';
import { type GroupKinship, meanKinshipOf } from './mean-kinship.core.js';
import { type PedigreeSnapshot } from './pedigree-snapshot.core.js';

/** From this many animals on, a product over all of them takes milliseconds that other requests would feel. */
const IN_THREAD_FROM = 30_000;

/** The living individuals of a taxon, or some of them, as a reference population, and how each animal is related to them. */
export type Living = GroupKinship & {
  readonly snapshot: PedigreeSnapshot;
  /** One flag an animal of the snapshot: 1 = member. */
  readonly group: Uint8Array;
  readonly asOf: Day;
};

/**
 * Reference populations. Who lives is kept with the pedigree and as current as it is; what is computed of the living is
 * computed once for a snapshot and shared. Lots have no single set of genes, and merged records are no animals of their own: both are left out.
 */
@Injectable()
export class LivingPopulation {
  private readonly known = new WeakMap<PedigreeSnapshot, Promise<GroupKinship>>();

  constructor(
    private readonly pedigrees: LivePedigree,
    private readonly compute: Compute,
    private readonly clock: Clock,
  ) {}

  /** All living individuals of the taxon, shared or not, or only those of `ids`. */
  async of(taxonId: string, ids?: readonly string[]): Promise<Living> {
    const snapshot = await this.pedigrees.of(taxonId);
    const asOf = this.clock.today();
    if (ids === undefined) return { ...(await this.allOf(snapshot)), snapshot, group: snapshot.alive, asOf };
    const group = new Uint8Array(snapshot.ids.length);
    for (const id of ids) {
      const index = snapshot.indexOf.get(id);
      if (index !== undefined) group[index] = 1;
    }
    return { ...(await this.relate(snapshot, group)), snapshot, group, asOf };
  }

  private allOf(snapshot: PedigreeSnapshot): Promise<GroupKinship> {
    const known = this.known.get(snapshot);
    if (known !== undefined) return known;
    const computed = this.relate(snapshot, snapshot.alive);
    this.known.set(snapshot, computed);
    computed.catch(() => this.known.delete(snapshot));
    return computed;
  }

  private async relate({ pedigree, inbreeding, sampling }: PedigreeSnapshot, group: Uint8Array): Promise<GroupKinship> {
    const input = { pedigree, inbreeding, sampling, group };
    return group.length < IN_THREAD_FROM ? meanKinshipOf(input) : this.compute.run(meanKinshipInThread, input);
  }
}
