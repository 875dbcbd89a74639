import { fromDateColumnOrNull } from '../../access/index.js';

/** An uncertain day as it stands in its three columns; null where nothing is known. */
export function uncertain(row: { edtf: string | null; earliest: Date | null; latest: Date | null }) {
  if (row.edtf === null) return null;
  return { edtf: row.edtf, earliest: fromDateColumnOrNull(row.earliest), latest: fromDateColumnOrNull(row.latest) };
}

/** A moment as text, or null. */
export function moment(at: Date | null): string | null {
  return at?.toISOString() ?? null;
}
