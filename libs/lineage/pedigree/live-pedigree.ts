import { setImmediate as nextTurn } from 'node:timers/promises';
import { Inject, Injectable } from '@nestjs/common';
import { Compute } from '../../platform/compute/index.js';
import { CONFIG, type Config } from '../../platform/config/index.js';
import { LineageReadStore } from './lineage-read.store.js';
import { loadPedigreeInThread } from './load-pedigree.js';
import { type AnimalNews, inOrderOfBirth, withNews } from './pedigree-growth.core.js';
import { openSnapshot, type PedigreeSnapshot, viewOf } from './pedigree-snapshot.core.js';

/** Most animals kept in memory, of all taxa together; the pedigrees longest unused go first. About 100 bytes each. */
const MAX_ANIMALS = 3_000_000;
/** Above this many changes at once, reading everything again is cheaper than one step a change. */
const MAX_STEPS = 500;
/** Steps are taken this long before the event loop has its turn. */
const TURN_MS = 8;

/** A refresh under way, and the one that follows it for those who came too late for the first. */
type Refreshing = { running: Promise<PedigreeSnapshot>; next: Promise<PedigreeSnapshot> | null };

/**
 * The pedigree of each taxon, kept in memory and brought up to date before every answer: what changed is asked of the primary
 * first, so that whoever has written reads their own write, on whichever server. New animals are added one by one; a change
 * that may touch the numbers of others is followed by reading and computing everything again, in a thread.
 */
@Injectable()
export class LivePedigree {
  private readonly kept = new Map<string, PedigreeSnapshot>();
  private readonly refreshing = new Map<string, Refreshing>();

  constructor(
    private readonly store: LineageReadStore,
    private readonly compute: Compute,
    @Inject(CONFIG) private readonly config: Pick<Config, 'databaseUrl'>,
  ) {}

  /** The pedigree of a taxon, with everything that was committed when it was asked for. */
  async of(taxonId: string): Promise<PedigreeSnapshot> {
    const kept = this.kept.get(taxonId);
    if (kept === undefined || !(await this.store.isCurrent(taxonId, kept))) return this.newest(taxonId);
    const newest = this.kept.get(taxonId); // perhaps replaced meanwhile
    if (newest !== undefined) this.keep(taxonId, newest);
    return kept;
  }

  /** A refresh that begins now or later: one that is under way may have read before the caller's write. */
  private newest(taxonId: string): Promise<PedigreeSnapshot> {
    const under = this.refreshing.get(taxonId);
    if (under === undefined) return this.start(taxonId);
    const begin = () => this.start(taxonId);
    under.next ??= under.running.then(begin, begin);
    return under.next;
  }

  private start(taxonId: string): Promise<PedigreeSnapshot> {
    const running = this.refresh(taxonId).finally(() => {
      if (refreshing.next === null) this.refreshing.delete(taxonId); // else the next one takes this place
    });
    const refreshing: Refreshing = { running, next: null };
    this.refreshing.set(taxonId, refreshing);
    return running;
  }

  private async refresh(taxonId: string): Promise<PedigreeSnapshot> {
    const kept = this.kept.get(taxonId);
    if (kept !== undefined) {
      const { version, seen, changed } = await this.store.readNews(taxonId, kept, MAX_STEPS);
      const grown = changed === null ? null : await grow(kept, changed);
      if (grown !== null) return this.keep(taxonId, viewOf(grown.memory, grown.ids.length, version, seen));
    }
    const { databaseUrl } = this.config;
    const { parts, version, seen } = await this.compute.run(loadPedigreeInThread, { databaseUrl, taxonId });
    return this.keep(taxonId, openSnapshot(parts, version, seen));
  }

  private keep(taxonId: string, snapshot: PedigreeSnapshot): PedigreeSnapshot {
    this.kept.delete(taxonId);
    this.kept.set(taxonId, snapshot);
    let animals = [...this.kept.values()].reduce((sum, { ids }) => sum + ids.length, 0);
    for (const [id, { ids }] of this.kept) {
      if (animals <= MAX_ANIMALS || id === taxonId) break;
      this.kept.delete(id);
      animals -= ids.length;
    }
    return snapshot;
  }
}

async function grow(kept: PedigreeSnapshot, changed: readonly AnimalNews[]): Promise<PedigreeSnapshot | null> {
  const inOrder = inOrderOfBirth(changed);
  if (inOrder === null) return null;
  let grown: PedigreeSnapshot = kept;
  let turn = performance.now();
  for (const news of inOrder) {
    const next = withNews(grown, news);
    if (next === null) return null;
    grown = next;
    if (performance.now() - turn < TURN_MS) continue;
    await nextTurn();
    turn = performance.now();
  }
  return grown;
}
