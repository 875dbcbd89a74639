import { Injectable } from '@nestjs/common';
import { fromDateColumnOrNull } from '../../access/index.js';
import { Database } from '../../platform/prisma/index.js';
import { type DayValue, type Quantity, type SeriesKey } from '../core/measurement.core.js';

/** Which measurements of an animal make a curve. */
export type SeriesOf = {
  readonly animalId: string;
  /** For a past holder: as it was in force then. */
  readonly readsUntil: Date | null;
  readonly series: SeriesKey;
};

export type Series = { readonly days: readonly DayValue[]; readonly withoutDay: number };

/** Where the body of a fact keeps its value. */
const VALUE_FIELDS = { weight: 'grams', length: 'millimetres', temperature: 'celsius' } as const satisfies Record<
  Quantity,
  string
>;

/** Reads series day by day in the database: the thousands of weights of one animal are not taken apart to show a curve. */
@Injectable()
export class SeriesStore {
  constructor(private readonly database: Database) {}

  /**
   * The last `most` days of each series, earliest first, with the median of each day, as `seriesOnDays` has it; of the whole series
   * how many measurements have no exact day. One statement. For who may read the record.
   */
  async findSeries(asked: readonly SeriesOf[], most: number): Promise<Series[]> {
    const rows = await this.database.client.$queryRaw<
      { place: number; day: Date | null; value: number; count: number }[]
    >`
      SELECT w.place::int AS place, d.day, d.value, d.count
      FROM unnest(${asked.map(({ animalId }) => animalId)}::uuid[], ${asked.map(({ readsUntil }) => readsUntil)}::timestamptz[],
                  ${asked.map(({ series }) => series.quantity)}::text[],
                  ${asked.map(({ series }) => VALUE_FIELDS[series.quantity])}::text[],
                  ${asked.map(({ series }) => series.measure ?? series.of)}::text[])
        WITH ORDINALITY AS w(animal_id, until, kind, field, along, place)
      CROSS JOIN LATERAL (
        SELECT f.day, count(*)::int AS count,
               -- The lower and the upper of the two in the middle; of an odd number the same one.
               (percentile_disc(0.5) WITHIN GROUP (ORDER BY f.value)
                + percentile_disc(0.5) WITHIN GROUP (ORDER BY f.value DESC)) / 2 AS value
        FROM (
          SELECT CASE WHEN m.earliest = m.latest THEN m.earliest END AS day, (m.body->>w.field)::float8 AS value
          FROM animal_fact m
          WHERE m.animal_id = w.animal_id AND m.kind = w.kind
            AND coalesce(m.body->>'measure', m.body->>'of') IS NOT DISTINCT FROM w.along
            AND m.recorded_at <= coalesce(w.until, 'infinity')
            AND (m.superseded_at IS NULL OR m.superseded_at > w.until)
        ) f
        GROUP BY f.day
        -- Those without a day are one row, which comes first.
        ORDER BY f.day DESC NULLS FIRST LIMIT ${most + 1}
      ) d
      ORDER BY w.place, d.day DESC NULLS FIRST`;
    const found = asked.map(() => ({ days: [] as DayValue[], withoutDay: 0 }));
    for (const row of rows) {
      const series = found[row.place - 1];
      const day = fromDateColumnOrNull(row.day);
      if (series === undefined) continue;
      if (day === null) series.withoutDay = row.count;
      else if (series.days.length < most) series.days.push({ day, value: row.value, count: row.count });
    }
    return found.map(({ days, withoutDay }) => ({ days: days.toReversed(), withoutDay }));
  }
}
