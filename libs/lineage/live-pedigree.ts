import { Injectable } from '@nestjs/common';
import { LineageReadStore } from './lineage-read.store.js';
import { buildSnapshot, extendSnapshot, type PedigreeSnapshot } from './pedigree-snapshot.core.js';

/** Most pedigrees kept in memory; the one longest unused goes first. */
const MAX_KEPT = 50;
/** Above this many changes at once, one full computation is cheaper than one product a change. */
const MAX_STEPS = 20;

/**
 * The pedigree of each taxon, kept in memory and brought up to date before every answer: the version on the primary is read
 * first, so that whoever has written reads their own write, on whichever server.
 */
@Injectable()
export class LivePedigree {
  private readonly kept = new Map<string, PedigreeSnapshot>();
  private readonly pending = new Map<string, Promise<PedigreeSnapshot>>();

  constructor(private readonly store: LineageReadStore) {}

  /** The pedigree of a taxon, at least as new as its version when asked. */
  async of(taxonId: string): Promise<PedigreeSnapshot> {
    const version = (await this.store.findVersion(taxonId)) ?? 0n;
    for (;;) {
      const kept = this.kept.get(taxonId);
      if (kept !== undefined && kept.version >= version) return this.touch(taxonId, kept);
      // Requests that find the same pedigree out of date share one refresh; a refresh begun too early is followed by another.
      const refreshed = this.pending.get(taxonId) ?? this.refresh(taxonId, kept);
      if ((await refreshed).version >= version) return refreshed;
    }
  }

  private refresh(taxonId: string, kept: PedigreeSnapshot | undefined): Promise<PedigreeSnapshot> {
    const work = this.read(taxonId, kept)
      .then((snapshot) => this.touch(taxonId, snapshot))
      .finally(() => this.pending.delete(taxonId));
    this.pending.set(taxonId, work);
    return work;
  }

  private async read(taxonId: string, kept: PedigreeSnapshot | undefined): Promise<PedigreeSnapshot> {
    if (kept !== undefined) {
      const news = await this.store.readNews(taxonId, kept.version);
      const extended = news.changed.length > MAX_STEPS ? null : extendSnapshot(kept, news.changed, news.version);
      if (extended !== null) return extended;
    }
    const { version, animals } = await this.store.readAll(taxonId);
    return buildSnapshot(animals, version);
  }

  private touch(taxonId: string, snapshot: PedigreeSnapshot): PedigreeSnapshot {
    this.kept.delete(taxonId);
    this.kept.set(taxonId, snapshot);
    const [oldest] = this.kept.keys();
    if (this.kept.size > MAX_KEPT && oldest !== undefined) this.kept.delete(oldest);
    return snapshot;
  }
}
