/** Who has something from a day to before another; half-open. */
export type Period = readonly [who: string, from: string, to: string | null];

/** Periods in the order of time, the same whoever wrote them down. */
export function inOrder(periods: readonly Period[]): Period[] {
  const key = ([who, from, to]: Period): string => `${from} ${to ?? '9999'} ${who}`;
  return periods.map((period): Period => [...period]).toSorted((a, b) => (key(a) < key(b) ? -1 : 1));
}
