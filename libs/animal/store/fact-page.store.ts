import { Injectable } from '@nestjs/common';
import { Database } from '../../platform/prisma/index.js';
import { type FactVersion } from '../core/correction.core.js';
import { type Fact, type FactKind } from '../core/fact.core.js';
import { toFact } from './animal-write.store.js';
import { toVersion } from './fact-history.store.js';

/** Which facts of an animal a page holds. */
export type FactPageOf = {
  readonly animalId: string;
  /** For a past holder: as it was in force then. */
  readonly readsUntil: Date | null;
  /** The fact the page goes on after. */
  readonly after: string | null;
};

type Row = {
  place: number;
  known: boolean;
  id: string | null;
  kind: string;
  body: unknown;
  edtf: string | null;
  earliest: Date | null;
  latest: Date | null;
  recordedAt: Date;
  supersededAt: Date | null;
  keeperId: string;
};

/** Reads facts page by page in the database: thousands of weights of one animal are not taken apart to show twenty. */
@Injectable()
export class FactPageStore {
  constructor(private readonly database: Database) {}

  /**
   * A page of the facts in force of each of `pages`, last recorded first, with one more than `first` where there is one; private
   * notes only of `ownKeepers`. Null where `after` is no fact of the animal. One statement.
   */
  async findPages(
    pages: readonly FactPageOf[],
    kinds: readonly FactKind[],
    first: number,
    ownKeepers: readonly string[],
  ): Promise<(Fact[] | null)[]> {
    const rows = await this.database.client.$queryRaw<Row[]>`
      SELECT w.place::int AS place, w.after IS NULL OR c.id IS NOT NULL AS known, f.id, f.kind, f.body, f.edtf, f.earliest, f.latest,
             f.recorded_at AS "recordedAt", f.superseded_at AS "supersededAt", f.keeper_id AS "keeperId"
      FROM unnest(${pages.map((page) => page.animalId)}::uuid[], ${pages.map((page) => page.readsUntil)}::timestamptz[],
                  ${pages.map((page) => page.after)}::uuid[]) WITH ORDINALITY AS w(animal_id, until, after, place)
      LEFT JOIN animal_fact c ON c.id = w.after AND c.animal_id = w.animal_id AND c.kind = ANY(${[...kinds]})
                             AND c.recorded_at <= coalesce(w.until, 'infinity')
      LEFT JOIN LATERAL (
        SELECT * FROM animal_fact f
        WHERE f.animal_id = w.animal_id AND f.kind = ANY(${[...kinds]})
          AND f.recorded_at <= coalesce(w.until, 'infinity')
          AND (f.superseded_at IS NULL OR f.superseded_at > w.until)
          AND (f.kind <> 'note' OR f.body->>'topic' <> 'private' OR f.keeper_id = ANY(${[...ownKeepers]}::uuid[]))
          AND (w.after IS NULL OR (f.recorded_at, f.id) < (c.recorded_at, c.id))
        ORDER BY f.recorded_at DESC, f.id DESC LIMIT ${first + 1}
      ) f ON true
      ORDER BY w.place, f.recorded_at DESC, f.id DESC`;
    return toPages(rows, pages.length, toFact);
  }

  /**
   * A page of every version of every fact of each animal, last recorded first, as `findPages` gives those in force. For who may
   * read the record as it is now: a past holder may not.
   */
  async findVersionPages(
    pages: readonly Omit<FactPageOf, 'readsUntil'>[],
    first: number,
    ownKeepers: readonly string[],
  ): Promise<(FactVersion[] | null)[]> {
    const rows = await this.database.client.$queryRaw<(Row & Parameters<typeof toVersion>[0])[]>`
      SELECT w.place::int AS place, w.after IS NULL OR c.id IS NOT NULL AS known, f.id, f.kind, f.body, f.edtf, f.earliest, f.latest,
             f.recorded_at AS "recordedAt", f.superseded_at AS "supersededAt", f.superseded_by AS "supersededBy", f.reason,
             f.restores_id AS "restoresId", f.keeper_id AS "keeperId"
      FROM unnest(${pages.map((page) => page.animalId)}::uuid[], ${pages.map((page) => page.after)}::uuid[])
        WITH ORDINALITY AS w(animal_id, after, place)
      LEFT JOIN animal_fact c ON c.id = w.after AND c.animal_id = w.animal_id
        AND (c.kind <> 'note' OR c.body->>'topic' <> 'private' OR c.keeper_id = ANY(${[...ownKeepers]}::uuid[]))
      LEFT JOIN LATERAL (
        SELECT * FROM animal_fact f
        WHERE f.animal_id = w.animal_id
          AND (f.kind <> 'note' OR f.body->>'topic' <> 'private' OR f.keeper_id = ANY(${[...ownKeepers]}::uuid[]))
          AND (w.after IS NULL OR (f.recorded_at, f.id) < (c.recorded_at, c.id))
        ORDER BY f.recorded_at DESC, f.id DESC LIMIT ${first + 1}
      ) f ON true
      ORDER BY w.place, f.recorded_at DESC, f.id DESC`;
    return toPages(rows, pages.length, toVersion);
  }
}

/** The rows of each page; null where the page goes on after what is none of its list. */
function toPages<R extends Pick<Row, 'place' | 'known' | 'id'>, F>(
  rows: readonly R[],
  pages: number,
  toEach: (row: R & { readonly id: string }) => F,
): (F[] | null)[] {
  const found: (F[] | null)[] = Array.from({ length: pages }, () => null);
  for (const row of rows) {
    if (!row.known) continue;
    const page = (found[row.place - 1] ??= []);
    if (row.id !== null) page.push(toEach({ ...row, id: row.id }));
  }
  return found;
}
