import { shiftDay, type Day, daysApart, type DaySpan, isBefore, shift } from '../../kernel/index.js';
import { type Range } from './bounds.core.js';

/** When something is to be expected. `source` says whose figure it is; a null end is not known. */
export type Forecast = {
  readonly earliest: Day | null;
  readonly latest: Day | null;
  /** `own`: from the dam's own records; `taxon`: from the profile. */
  readonly basis: 'own' | 'taxon';
  readonly source: string;
};

/** Own intervals there must be before they say more than the profile. A choice of this registry without a source. */
export const ENOUGH_INTERVALS = 3;

/**
 * When the next clutch is to be expected after the last one: the dam's own shortest and longest interval once she has three,
 * else the profile's range. Spans that are open on a side count for no interval. Null where nothing is known.
 */
export function forecastClutch(clutches: readonly DaySpan[], range: Range | undefined): Forecast | null {
  const known = clutches.filter(({ earliest, latest }) => earliest !== null && latest !== null).toSorted(byEarliest);
  const last = known.at(-1);
  if (last === undefined) return null;
  const intervals = known.slice(1).flatMap((later, i) => {
    const earlier = known[i];
    // Two that may be one and the same day, or in the other order, tell no interval.
    return earlier === undefined || isBefore(earlier, later) !== 'yes' ? [] : [daysApart(earlier, later)];
  });
  return forecast(last, intervals, range, 'intervals between her clutches');
}

/** When a clutch is to be expected to hatch: by what passed from laying to hatching with the dam's earlier clutches, else by the profile. */
export function forecastHatch(
  laid: DaySpan,
  earlier: readonly { readonly laid: DaySpan; readonly hatched: DaySpan }[],
  range: Range | undefined,
): Forecast | null {
  if (laid.earliest === null && laid.latest === null) return null;
  const passed = earlier
    .map((clutch) => daysApart(clutch.laid, clutch.hatched))
    .filter(({ fewest, most }) => fewest !== null && most !== null && most > 0);
  return forecast(laid, passed, range, 'clutches of hers that hatched');
}

type Apart = { readonly fewest: number | null; readonly most: number | null };

function forecast(from: DaySpan, own: readonly Apart[], range: Range | undefined, what: string): Forecast | null {
  const fewest = own.flatMap((each) => each.fewest ?? []);
  const most = own.flatMap((each) => each.most ?? []);
  if (own.length >= ENOUGH_INTERVALS && fewest.length > 0 && most.length > 0) {
    const [least, greatest] = [Math.max(0, Math.min(...fewest)), Math.max(...most)];
    return {
      ...window(from, least, greatest),
      basis: 'own',
      source: `own records: ${own.length} ${what}, ${least} to ${greatest} days`,
    };
  }
  if (range === undefined) return null;
  const typical = range.value === undefined ? undefined : Math.round(range.value);
  const [least, greatest] =
    range.min === undefined && range.max === undefined ? [typical, typical] : [range.min, range.max];
  return { ...window(from, least, greatest), basis: 'taxon', source: range.source };
}

function window(from: DaySpan, least: number | undefined, greatest: number | undefined) {
  return {
    earliest: least === undefined ? null : shift(from, Math.floor(least)).earliest,
    latest: greatest === undefined || from.latest === null ? null : shiftDay(from.latest, Math.ceil(greatest)),
  };
}

function byEarliest(a: DaySpan, b: DaySpan): number {
  return (a.earliest ?? '') < (b.earliest ?? '') ? -1 : 1;
}
