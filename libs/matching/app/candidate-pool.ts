import { Injectable } from '@nestjs/common';
import { QuarantineReadStore } from '../../health/index.js';
import { type Day } from '../../kernel/index.js';
import { CandidateTable } from '../core/candidate-table.core.js';
import { CandidateStore } from '../store/candidate.store.js';

/** Most taxa kept in memory; the one longest unused goes first. */
const MAX_KEPT = 50;
/** Days for which it is kept who is in quarantine, a taxon: today and the days somebody looks ahead to. */
const MAX_DAYS = 4;
/** A table not looked at for longer is read anew: the feed keeps its rows for some hours only. */
const MAX_AGE_MS = 3_600_000;

type Kept = {
  readonly table: CandidateTable;
  snapshot: string;
  lookedAt: number;
  /** Ids of those in quarantine, by day. */
  readonly quarantined: Map<Day, Set<string>>;
};

/** The candidates of a taxon as of now. */
export type Candidates = {
  readonly table: CandidateTable;
  readonly quarantined: ReadonlySet<string>;
  readonly quarantinedToday: ReadonlySet<string>;
};

/**
 * The candidates of each taxon, kept in memory and brought up to date before every answer. The feed of changes is written by
 * the transactions that change them, so a search never misses what was committed before it began, on whichever server.
 */
@Injectable()
export class CandidatePool {
  private readonly kept = new Map<string, Kept>();
  /** What is being done to a taxon: one after the other. */
  private readonly queue = new Map<string, Promise<unknown>>();

  constructor(
    private readonly store: CandidateStore,
    private readonly quarantines: QuarantineReadStore,
  ) {}

  /** The candidates of a taxon, with those in quarantine on a day and those in quarantine today. */
  of(taxonId: string, on: Day, today: Day): Promise<Candidates> {
    const before = this.queue.get(taxonId) ?? Promise.resolve();
    const work = before.catch(() => undefined).then(() => this.bringUpToDate(taxonId, on, today));
    this.queue.set(taxonId, work);
    const done = (): void => {
      if (this.queue.get(taxonId) === work) this.queue.delete(taxonId);
    };
    work.then(done, done);
    return work;
  }

  private async bringUpToDate(taxonId: string, on: Day, today: Day): Promise<Candidates> {
    const known = this.kept.get(taxonId);
    const fresh = known !== undefined && Date.now() - known.lookedAt < MAX_AGE_MS ? known : undefined;
    const lookedAt = Date.now();
    const news = await this.store.findNews(taxonId, fresh?.snapshot ?? null);
    const kept =
      fresh === undefined || news.changed === null
        ? await this.readAll(taxonId, news.snapshot)
        : await this.apply(taxonId, fresh, news.changed);
    // Set only now: a change that could not be read is asked for again.
    kept.snapshot = news.snapshot;
    kept.lookedAt = lookedAt;
    this.keep(taxonId, kept);
    return {
      table: kept.table,
      quarantined: await this.quarantinedOn(taxonId, kept, on),
      quarantinedToday: await this.quarantinedOn(taxonId, kept, today),
    };
  }

  private async readAll(taxonId: string, snapshot: string): Promise<Kept> {
    const table = new CandidateTable();
    for await (const rows of this.store.readAll(taxonId)) for (const row of rows) table.put(row);
    return { table, snapshot, lookedAt: 0, quarantined: new Map() };
  }

  private async apply(taxonId: string, kept: Kept, changed: readonly string[]): Promise<Kept> {
    if (changed.length === 0) return kept;
    const rows = await this.store.findRows(taxonId, changed);
    const days = await Promise.all(
      [...kept.quarantined.keys()].map(
        async (day) => [day, await this.quarantines.isInQuarantine(changed, day)] as const,
      ),
    );
    const left = new Set(changed);
    for (const row of rows) {
      kept.table.put(row);
      left.delete(row.id);
    }
    for (const id of left) kept.table.remove(id);
    for (const [day, inQuarantine] of days) {
      const ids = kept.quarantined.get(day);
      for (const id of changed)
        if (inQuarantine.has(id)) ids?.add(id);
        else ids?.delete(id);
    }
    return kept;
  }

  private async quarantinedOn(taxonId: string, kept: Kept, on: Day): Promise<ReadonlySet<string>> {
    const known = kept.quarantined.get(on);
    if (known !== undefined) return known;
    const read = await this.quarantines.isInQuarantine(await this.store.findEntered(taxonId, on), on);
    kept.quarantined.set(on, read);
    const [oldest] = kept.quarantined.keys();
    if (kept.quarantined.size > MAX_DAYS && oldest !== undefined) kept.quarantined.delete(oldest);
    return read;
  }

  private keep(taxonId: string, kept: Kept): void {
    this.kept.delete(taxonId);
    this.kept.set(taxonId, kept);
    const [oldest] = this.kept.keys();
    if (this.kept.size > MAX_KEPT && oldest !== undefined) this.kept.delete(oldest);
  }
}
