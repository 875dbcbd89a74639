import { Injectable } from '@nestjs/common';
import { fromDateColumn } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { Database } from '../../platform/prisma/index.js';
import { type LotCause } from '../core/lot.core.js';

/** A change of a lot's count as its keeper reads it. */
export type LotChangeRow = {
  readonly id: string;
  readonly cause: LotCause;
  readonly delta: number;
  readonly estimated: boolean;
  readonly on: Day;
  readonly recordedAt: Date;
  readonly supersededAt: Date | null;
  readonly supersededBy: string | null;
  readonly supersededBecause: string | null;
};

type Row = Omit<LotChangeRow, 'id' | 'on'> & {
  place: number;
  known: boolean;
  id: string | null;
  happenedOn: Date;
};

/** Reads the changes of lots page by page, as `FactPageStore` reads facts. */
@Injectable()
export class LotChangePageStore {
  constructor(private readonly database: Database) {}

  /**
   * A page of all versions of the changes of each lot, last recorded first, with one more than `first` where there is one. Null
   * where `after` is no change of the lot. One statement. For callers that know the viewer may read the record as it is now.
   */
  async findPages(
    pages: readonly { readonly lotId: string; readonly after: string | null }[],
    first: number,
  ): Promise<(LotChangeRow[] | null)[]> {
    const rows = await this.database.client.$queryRaw<Row[]>`
      SELECT w.place::int AS place, w.after IS NULL OR c.id IS NOT NULL AS known, x.id, x.cause::text AS cause, x.delta, x.estimated,
             x.happened_on AS "happenedOn", x.recorded_at AS "recordedAt", x.superseded_at AS "supersededAt",
             x.superseded_by AS "supersededBy", x.superseded_because AS "supersededBecause"
      FROM unnest(${pages.map((page) => page.lotId)}::uuid[], ${pages.map((page) => page.after)}::uuid[])
        WITH ORDINALITY AS w(lot_id, after, place)
      LEFT JOIN lot_change c ON c.id = w.after AND c.lot_id = w.lot_id
      LEFT JOIN LATERAL (
        SELECT * FROM lot_change x
        WHERE x.lot_id = w.lot_id AND (w.after IS NULL OR (x.recorded_at, x.id) < (c.recorded_at, c.id))
        ORDER BY x.recorded_at DESC, x.id DESC LIMIT ${first + 1}
      ) x ON true
      ORDER BY w.place, x.recorded_at DESC, x.id DESC`;
    const found: (LotChangeRow[] | null)[] = pages.map(() => null);
    for (const { place, known, id, happenedOn, ...row } of rows) {
      if (!known) continue;
      const page = (found[place - 1] ??= []);
      if (id !== null) page.push({ ...row, id, on: fromDateColumn(happenedOn) });
    }
    return found;
  }
}
