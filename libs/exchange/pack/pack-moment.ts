/** The moment up to which a reader knows a record; null = now. */
export type Until = Date | null;

type Recorded = { readonly recordedAt: Date; readonly supersededAt: Date | null };

/** Whether it was recorded by then. */
export function isKnown({ recordedAt }: Pick<Recorded, 'recordedAt'>, until: Until): boolean {
  return until === null || recordedAt <= until;
}

/** Whether it was recorded by then and not yet superseded. */
export function wasInForce(row: Recorded, until: Until): boolean {
  return isKnown(row, until) && (row.supersededAt === null || (until !== null && row.supersededAt > until));
}

/** When and why a version was superseded, as far as that was known then; null while it was in force. */
export function supersession<T extends Recorded & { readonly reason: string | null }>(
  { supersededAt, reason }: T,
  until: Until,
): { at: string; reason: string | null } | null {
  if (supersededAt === null || (until !== null && supersededAt > until)) return null;
  return { at: supersededAt.toISOString(), reason };
}

/** A day that was known then; null for one still to come. */
export function dayKnown<D extends string>(day: D | null, until: Until): D | null {
  return day === null || (until !== null && day > until.toISOString().slice(0, 10)) ? null : day;
}
