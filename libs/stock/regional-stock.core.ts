import { shiftDay, type Answer, type Day, type DaySpan, isOnOrBefore } from '../kernel/index.js';

/** Days on which a holder counts for the region: their membership of the club, half-open, and not empty. */
export type Membership = { readonly keeperId: string; readonly joined: Day; readonly left: Day | null };

/** One period of a record with one holder, in force. Half-open days. */
export type StockPeriod = {
  readonly from: Day;
  readonly to: Day | null;
  /** When the period was first recorded: decides to whom a change on the hand-over day belongs. */
  readonly beganAt: Date;
  readonly arrivedBy: string;
  readonly leftBy: string | null;
  /** Null for every holder who is not one of the shown keepers of the region, whatever the reason. */
  readonly shown: Membership | null;
};

/**
 * A period of a keeper who has left the club and come back, cut where they came back, so that each part has one membership at
 * most: what they have leaves the region with them and comes back with them. `memberships` are apart from each other, in order.
 */
export function cutByMemberships(
  period: Omit<StockPeriod, 'shown'>,
  memberships: readonly Membership[],
): StockPeriod[] {
  const { from, to } = period;
  // Within a day one can join, be given an animal and pass it on.
  const during = memberships.filter(
    ({ joined, left }) => (left === null || left > from) && (to === null || joined <= to),
  );
  if (during.length === 0) return [{ ...period, shown: null }];
  return during.map((shown, index) => ({
    ...period,
    ...(index === 0 ? {} : { from: shown.joined, arrivedBy: 'registered' }),
    to: during[index + 1]?.joined ?? to,
    shown,
  }));
}

/** One change of a lot's count. */
export type StockChange = {
  readonly cause:
    | 'opening'
    | 'split_in'
    | 'split_out'
    | 'joined_in'
    | 'joined_out'
    | 'raised_out'
    | 'died'
    | 'missing'
    | 'stolen'
    | 'escaped'
    | 'found'
    | 'corrected';
  readonly delta: number;
  readonly on: Day;
  readonly recordedAt: Date;
};

/** An individual or a lot with its whole history. Sex, origin and birth as known today. */
export type StockRecord = {
  readonly id: string;
  readonly taxonId: string;
  readonly kind: 'individual' | 'lot';
  readonly sex: 'male' | 'female' | 'unknown';
  readonly originClass: 'bred' | 'wild' | 'ranched' | 'unknown';
  readonly birth: DaySpan | null;
  /** In the order of time; periods of one day in the order they were recorded. */
  readonly periods: readonly StockPeriod[];
  /** In the order of time; none for an individual, which counts one. */
  readonly changes: readonly StockChange[];
};

/** When animals of a taxon reach maturity, in days: not before `from`, surely by `to`. */
export type Maturity = { readonly from: number; readonly to: number };

/** What came, went and is there, counted in animals. */
export type StockCount = {
  /** At the end of the day before `since`. */
  readonly opening: number;
  readonly births: number;
  readonly arrivals: number;
  readonly deaths: number;
  readonly departures: number;
  /** At the end of `asOf`; counted, not derived. */
  readonly closing: number;
  /** closing − (opening + births + arrivals − deaths − departures): 0, or what the records leave unexplained. */
  readonly unaccounted: number;
  /** Of the closing stock; animals of a lot are unsexed. */
  readonly sexes: { readonly male: number; readonly female: number; readonly unsexed: number };
  readonly ages: { readonly juvenile: number; readonly adult: number; readonly notKnown: number };
  readonly origins: { readonly [origin in StockRecord['originClass']]: number };
  /** Keepers who have some of the closing stock. */
  readonly keepers: number;
  /** Records of individuals in the closing stock. */
  readonly individuals: readonly string[];
};

type Flow = {
  readonly day: Day;
  readonly kind: 'births' | 'arrivals' | 'deaths' | 'departures';
  readonly count: number;
};

/** The part of a period in which its holder is a member. */
type Stay = { readonly from: Day; readonly to: Day | null; readonly byJoining: boolean; readonly byLeaving: boolean };

/**
 * The stock of the shown keepers from `since` to the end of `asOf`. Opening and closing are counted from who has what on
 * those days; births, deaths, arrivals and departures are told from what happened. Neither is derived from the other, so
 * that a gap shows. What passes between two shown keepers, and a lot's splitting, moves nothing; a keeper who joins or
 * leaves the club brings or takes along what they have. `maturities` by taxon; one without is of no known age class.
 */
export function stockCount(
  records: readonly StockRecord[],
  maturities: ReadonlyMap<string, Maturity>,
  since: Day,
  asOf: Day,
): StockCount {
  const flows = records.flatMap(flowsOf).filter(({ day }) => day >= since && day <= asOf);
  const sum = (kind: Flow['kind']): number =>
    flows.reduce((total, flow) => (flow.kind === kind ? total + flow.count : total), 0);
  const opening = records.reduce((total, record) => total + held(record, shiftDay(since, -1)).count, 0);
  const there = records.map((record) => ({ record, ...held(record, asOf) })).filter(({ count }) => count > 0);
  const closing = there.reduce((total, { count }) => total + count, 0);
  const moved = {
    births: sum('births'),
    arrivals: sum('arrivals'),
    deaths: sum('deaths'),
    departures: sum('departures'),
  };
  const expected = opening + moved.births + moved.arrivals - moved.deaths - moved.departures;
  const sexes = { male: 0, female: 0, unsexed: 0 };
  const ages = { juvenile: 0, adult: 0, notKnown: 0 };
  const origins = { bred: 0, wild: 0, ranched: 0, unknown: 0 };
  for (const { record, count } of there) {
    sexes[record.kind === 'lot' || record.sex === 'unknown' ? 'unsexed' : record.sex] += count;
    ages[ageClass(record.birth, maturities.get(record.taxonId), asOf)] += count;
    origins[record.originClass] += count;
  }
  return {
    opening,
    ...moved,
    closing,
    unaccounted: closing - expected,
    sexes,
    ages,
    origins,
    keepers: new Set(there.map(({ keeperId }) => keeperId)).size,
    individuals: there.flatMap(({ record }) => (record.kind === 'individual' ? [record.id] : [])),
  };
}

/** Males, females and unsexed as keepers write a group, `2.3.1` (common practice, no published source). */
export function writeSexes({ male, female, unsexed }: StockCount['sexes']): string {
  return `${male}.${female}.${unsexed}`;
}

/** Adult or juvenile only when every day on which it may have been born says so. */
function ageClass(birth: DaySpan | null, maturity: Maturity | undefined, on: Day): keyof StockCount['ages'] {
  if (birth === null || maturity === undefined) return 'notKnown';
  const bornBy = (days: number): Answer => {
    const last = shiftDay(on, -days);
    return isOnOrBefore(birth, { earliest: last, latest: last });
  };
  if (bornBy(maturity.to) === 'yes') return 'adult';
  return bornBy(maturity.from) === 'no' ? 'juvenile' : 'notKnown';
}

/** How many of a record shown keepers have at the end of a day, and which keeper. */
function held(record: StockRecord, on: Day): { count: number; keeperId: string | null } {
  const period = record.periods.find((each) => {
    const stay = stayOf(each);
    return stay !== null && stay.from <= on && (stay.to === null || stay.to > on);
  });
  if (period === undefined) return { count: 0, keeperId: null };
  const count =
    record.kind === 'individual'
      ? 1
      : record.changes.reduce((sum, change) => (change.on <= on ? sum + change.delta : sum), 0);
  return { count, keeperId: period.shown?.keeperId ?? null };
}

function stayOf({ from, to, shown }: StockPeriod): Stay | null {
  if (shown === null) return null;
  const byJoining = shown.joined > from;
  const byLeaving = shown.left !== null && (to === null || shown.left <= to);
  const stay = { from: byJoining ? shown.joined : from, to: byLeaving ? shown.left : to, byJoining, byLeaving };
  // Within a day one can be given an animal and pass it on, also on the day of joining; whoever leaves is gone from its start.
  const empty = stay.to !== null && (byLeaving ? stay.to <= stay.from : stay.to < stay.from);
  return empty ? null : stay;
}

function flowsOf(record: StockRecord): Flow[] {
  const flows: Flow[] = [];
  const add = (day: Day, kind: Flow['kind'] | null, count: number): void => {
    if (kind !== null && count > 0) flows.push({ day, kind, count });
  };
  const stays = record.periods.map(stayOf);
  const passesOn = (index: number): boolean => {
    const [one, next] = [stays[index] ?? null, stays[index + 1] ?? null];
    return one !== null && next !== null && !one.byLeaving && !next.byJoining && one.to === next.from;
  };
  let running = record.kind === 'individual' ? 1 : sumOf(record.changes.filter(isOpening));
  for (const [index, period] of record.periods.entries()) {
    const stay = stays[index] ?? null;
    const changes = record.changes.filter((change) => !isOpening(change) && periodOf(record.periods, change) === index);
    if (stay === null) {
      running += sumOf(changes);
      continue;
    }
    running += sumOf(changes.filter(({ on }) => on < stay.from));
    if (!passesOn(index - 1)) add(stay.from, stay.byJoining ? 'arrivals' : cameAs(period.arrivedBy), running);
    const { to } = stay;
    const outside = (change: StockChange): boolean =>
      change.on < stay.from || (stay.byLeaving && to !== null && change.on >= to);
    for (const change of changes.filter((each) => !outside(each))) {
      running += change.delta;
      if (change.cause === 'died') add(change.on, 'deaths', -change.delta);
      else if (LOST.has(change.cause)) add(change.on, 'departures', -change.delta);
      else if (change.cause === 'found') add(change.on, 'arrivals', change.delta);
    }
    if (to !== null && !passesOn(index)) add(to, stay.byLeaving ? 'departures' : wentAs(period.leftBy), running);
    running += sumOf(changes.filter(({ on }) => stay.byLeaving && to !== null && on >= to));
  }
  return flows;
}

/** Ways in which some of a lot are gone. */
const LOST: ReadonlySet<StockChange['cause']> = new Set(['missing', 'stolen', 'escaped']);

/** What was split from a lot, raised out of it or joined with it was here before, and is here after. */
const WITHIN: ReadonlySet<string | null> = new Set(['split', 'raised', 'joined']);

function cameAs(arrivedBy: string): 'births' | 'arrivals' | null {
  if (WITHIN.has(arrivedBy)) return null;
  return arrivedBy === 'born' ? 'births' : 'arrivals';
}

function wentAs(leftBy: string | null): 'deaths' | 'departures' | null {
  if (WITHIN.has(leftBy)) return null;
  return leftBy === 'died' ? 'deaths' : 'departures';
}

function sumOf(changes: readonly StockChange[]): number {
  return changes.reduce((sum, change) => sum + change.delta, 0);
}

function isOpening(change: StockChange): boolean {
  return change.cause === 'opening' || change.cause === 'split_in';
}

/**
 * The period a change belongs to. On a day on which the lot changed hands several touch it: then it is the last one that
 * had been recorded when the change was, as in the stock book of a keeper.
 */
function periodOf(periods: readonly StockPeriod[], change: StockChange): number {
  const touches = (period: StockPeriod): boolean =>
    period.from <= change.on && (period.to === null || change.on <= period.to);
  const known = periods.findLastIndex((period) => touches(period) && period.beganAt <= change.recordedAt);
  return known >= 0 ? known : periods.findIndex(touches);
}
