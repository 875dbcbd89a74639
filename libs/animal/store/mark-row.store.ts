import { fromDateColumnOrNull } from '../../access/index.js';
import { type Mark, type MarkEndCause, type MarkKind } from '../core/mark.core.js';

/** A row of `animal_mark` as Prisma reads it. */
export type MarkRow = {
  id: string;
  seriesId: string;
  animalId: string;
  kind: string;
  value: string;
  matchValue: string | null;
  size: string | null;
  fixedView: string | null;
  withScale: boolean | null;
  intervalDays: number | null;
  edtf: string | null;
  earliest: Date | null;
  latest: Date | null;
  untilEdtf: string | null;
  untilEarliest: Date | null;
  untilLatest: Date | null;
  endCause: string | null;
  recordedAt: Date;
  recordedBy: string;
  supersededAt: Date | null;
  supersededBy: string | null;
  reason: string | null;
};

/** A stored version of a mark as the domain knows it. */
export function toMark(row: MarkRow): Mark {
  const { animalId, value, size, fixedView, withScale, intervalDays, recordedAt, recordedBy, supersededAt, reason } =
    row;
  return {
    id: row.seriesId,
    versionId: row.id,
    animalId,
    kind: row.kind as MarkKind,
    value,
    size,
    fixedView,
    withScale,
    intervalDays,
    when:
      row.edtf === null
        ? null
        : { edtf: row.edtf, earliest: fromDateColumnOrNull(row.earliest), latest: fromDateColumnOrNull(row.latest) },
    ended:
      row.untilEdtf === null
        ? null
        : {
            when: {
              edtf: row.untilEdtf,
              earliest: fromDateColumnOrNull(row.untilEarliest),
              latest: fromDateColumnOrNull(row.untilLatest),
            },
            cause: row.endCause as MarkEndCause,
          },
    recordedAt,
    recordedBy,
    supersededAt,
    reason,
  };
}
