import { fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { type When } from '../../animal/index.js';
import { type DaySpan } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/** Who recorded it and when, as columns; the keeper where the server itself acts. */
export function recorded(tx: Tx, fallback: string) {
  return { recordedAt: tx.now, recordedBy: tx.actorId ?? fallback };
}

/** When something happened, as columns. */
export function whenColumns(when: When | null) {
  return {
    edtf: when?.edtf ?? null,
    earliest: when?.earliest ? toDateColumn(when.earliest) : null,
    latest: when?.latest ? toDateColumn(when.latest) : null,
  };
}

type DayColumns = { edtf: string | null; earliest: Date | null; latest: Date | null };

/** When something happened, from its columns; null = not known. */
export function whenOf(row: DayColumns): When | null {
  return row.edtf === null ? null : { edtf: row.edtf, ...spanOf(row) };
}

/** The days it can have happened on. */
export function spanOf(row: Pick<DayColumns, 'earliest' | 'latest'>): DaySpan {
  return { earliest: fromDateColumnOrNull(row.earliest), latest: fromDateColumnOrNull(row.latest) };
}
