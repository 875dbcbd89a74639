import { addDays, type Day } from '../../kernel/index.js';

/** How many of an item arrived in a state. */
export type Arrived = { readonly state: string; readonly count: number };

/** One item of a received transfer with the quarantine rule of its taxon. */
export type ReceivedItem = {
  readonly registerNumber: string;
  readonly scientificName: string;
  readonly quarantineDays: number;
  readonly quarantineSource: string;
  readonly arrivals: readonly Arrived[];
};

/** How long the newcomers are kept apart, and who says so. */
export type ArrivalQuarantine = {
  /** In alphabetical order. */
  readonly registerNumbers: readonly string[];
  readonly days: number;
  /** The day of arrival plus `days`: the first day the quarantine may end. */
  readonly dueOn: Day;
  /** The taxon whose rule is the longest, and the source of that rule. */
  readonly longestFor: string;
  readonly source: string;
};

/** States in which an animal is alive and stays with the receiver: a refused one goes back, whatever its health. */
const ALIVE_WITH_RECEIVER: ReadonlySet<string> = new Set(['well', 'ill', 'not_as_described']);

/**
 * The quarantine of the animals that arrived alive: they came together, so the longest rule among them holds for all.
 * Null when none arrived alive. Between equal rules the first taxon in alphabetical order is named.
 */
export function arrivalQuarantine(receivedOn: Day, items: readonly ReceivedItem[]): ArrivalQuarantine | null {
  const alive = items.filter(({ arrivals }) =>
    arrivals.some(({ state, count }) => count > 0 && ALIVE_WITH_RECEIVER.has(state)),
  );
  const [longest] = [...alive].sort(
    (a, b) =>
      b.quarantineDays - a.quarantineDays ||
      (a.scientificName < b.scientificName ? -1 : a.scientificName > b.scientificName ? 1 : 0),
  );
  if (longest === undefined) return null;
  return {
    registerNumbers: alive.map(({ registerNumber }) => registerNumber).sort(),
    days: longest.quarantineDays,
    dueOn: addDays(receivedOn, longest.quarantineDays),
    longestFor: longest.scientificName,
    source: longest.quarantineSource,
  };
}
