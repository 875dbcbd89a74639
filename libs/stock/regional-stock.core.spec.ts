import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, type Day, day } from '../kernel/index.js';
import {
  cutByMemberships,
  type Maturity,
  type Membership,
  type StockChange,
  stockCount as countStock,
  type StockPeriod,
  type StockRecord,
  writeSexes,
} from './regional-stock.core.js';

const FIRST = day('2026-01-01');
const KEEPERS = 4;

const BOUND: Maturity = { from: 365, to: 365 };
const stockCount = (records: readonly StockRecord[], since: Day, asOf: Day, maturity: Maturity | null = BOUND) =>
  countStock(records, new Map(maturity === null ? [] : [['taxon', maturity]]), since, asOf);

/** What really happens, in the order it is recorded: days never go back. */
type Step =
  | { readonly kind: 'register'; readonly who: number; readonly lotOf: number | null; readonly born: boolean }
  | { readonly kind: 'split'; readonly which: number; readonly part: number }
  | { readonly kind: 'lose'; readonly which: number; readonly part: number }
  | { readonly kind: 'give'; readonly which: number; readonly to: number; readonly deadOnArrival: number };

/** Days of each keeper's memberships, as days after FIRST, one after the other; null = never shown. */
type Members = readonly (readonly { readonly joined: number; readonly left: number | null }[] | null)[];

type Period = Omit<StockPeriod, 'shown' | 'to' | 'leftBy'> & { holder: number; to: Day | null; leftBy: string | null };

type Kept = { lot: boolean; holder: number | null; count: number; periods: Period[]; changes: StockChange[] };

/** Keeps the world as the stores do, beside plain tallies of what was held, born and lost in the region on each day. */
class World {
  readonly records: Kept[] = [];
  readonly held = new Map<Day, number>();
  readonly born = new Map<Day, number>();
  readonly lost = new Map<Day, number>();
  private today = FIRST;
  private clock = 0;

  constructor(private readonly members: Members) {}

  step(step: Step, daysLater: number): void {
    for (let i = 0; i < daysLater; i++) this.nextDay();
    const now = new Date(++this.clock);
    if (step.kind === 'register') {
      this.open(step.who, step.lotOf, step.born ? 'born' : 'registered', 'opening', now);
      if (step.born) this.tally(this.born, step.who, step.lotOf ?? 1);
      return;
    }
    const living = this.records.filter((record) => record.holder !== null);
    const record = living[step.which % Math.max(living.length, 1)];
    if (record === undefined || record.holder === null) return;
    if (step.kind === 'split') {
      const count = 1 + (step.part % Math.max(record.count - 1, 1));
      if (!record.lot || count >= record.count) return;
      this.change(record, 'split_out', -count, now);
      this.open(record.holder, count, 'split', 'split_in', now);
    } else if (step.kind === 'lose') {
      this.lose(record, 1 + (step.part % record.count), now);
    } else {
      if (step.to === record.holder) return;
      this.close(record, 'given');
      record.holder = step.to;
      record.periods.push({
        holder: step.to,
        from: this.today,
        to: null,
        beganAt: now,
        arrivedBy: 'received',
        leftBy: null,
      });
      const dead = Math.min(step.deadOnArrival, record.count);
      if (dead > 0) this.lose(record, dead, now);
    }
  }

  nextDay(): void {
    const count = this.records.reduce(
      (sum, { holder, count: each }) => (holder !== null && this.isMember(holder) ? sum + each : sum),
      0,
    );
    this.held.set(this.today, count);
    this.today = addDays(this.today, 1);
  }

  stock(): StockRecord[] {
    return this.records.map((record, id) => ({
      id: String(id),
      taxonId: 'taxon',
      kind: record.lot ? 'lot' : 'individual',
      sex: 'unknown',
      originClass: 'unknown',
      birth: null,
      periods: record.periods.flatMap(({ holder, ...period }) => cutByMemberships(period, this.shown(holder))),
      changes: record.changes,
    }));
  }

  private shown(keeper: number): Membership[] {
    return (this.members[keeper] ?? [])
      .filter(({ joined, left }) => joined !== left)
      .map(({ joined, left }) => {
        const until = left === null ? null : addDays(FIRST, left);
        return { keeperId: String(keeper), joined: addDays(FIRST, joined), left: until };
      });
  }

  private isMember(keeper: number): boolean {
    return this.shown(keeper).some(({ joined, left }) => joined <= this.today && (left === null || this.today < left));
  }

  private tally(tallies: Map<Day, number>, keeper: number, count: number): void {
    if (this.isMember(keeper)) tallies.set(this.today, (tallies.get(this.today) ?? 0) + count);
  }

  private open(who: number, lotOf: number | null, arrivedBy: string, cause: 'opening' | 'split_in', now: Date): void {
    this.records.push({
      lot: lotOf !== null,
      holder: who,
      count: lotOf ?? 1,
      periods: [{ holder: who, from: this.today, to: null, beganAt: now, arrivedBy, leftBy: null }],
      changes: lotOf === null ? [] : [{ cause, delta: lotOf, on: this.today, recordedAt: now }],
    });
  }

  private change(record: Kept, cause: StockChange['cause'], delta: number, now: Date): void {
    record.changes.push({ cause, delta, on: this.today, recordedAt: now });
    record.count += delta;
  }

  private lose(record: Kept, count: number, now: Date): void {
    if (record.holder !== null) this.tally(this.lost, record.holder, count);
    if (record.lot) this.change(record, 'died', -count, now);
    else record.count = 0;
    if (record.count > 0) return;
    this.close(record, 'died');
    record.holder = null;
  }

  private close(record: Kept, leftBy: 'given' | 'died'): void {
    const last = record.periods.at(-1);
    if (last !== undefined) Object.assign(last, { to: this.today, leftBy });
  }
}

const keeper = fc.integer({ min: 0, max: KEEPERS - 1 });
const step = fc.oneof(
  fc.record({
    kind: fc.constant('register' as const),
    who: keeper,
    lotOf: fc.option(fc.integer({ min: 1, max: 30 })),
    born: fc.boolean(),
  }),
  fc.record({ kind: fc.constant('split' as const), which: fc.nat(50), part: fc.nat(30) }),
  fc.record({ kind: fc.constant('lose' as const), which: fc.nat(50), part: fc.nat(30) }),
  fc.record({ kind: fc.constant('give' as const), which: fc.nat(50), to: keeper, deadOnArrival: fc.nat(3) }),
);
const history = fc.array(fc.tuple(step, fc.integer({ min: 0, max: 2 })), { minLength: 1, maxLength: 40 });
const membership = fc.option(
  fc
    .tuple(
      fc.integer({ min: -5, max: 25 }),
      fc.option(fc.nat(20)),
      fc.option(fc.tuple(fc.integer({ min: 1, max: 10 }), fc.option(fc.nat(10)))),
    )
    .map(([joined, days, back]) => {
      if (days === null) return [{ joined, left: null }];
      const left = joined + days;
      if (back === null) return [{ joined, left }];
      const again = left + back[0];
      return [
        { joined, left },
        { joined: again, left: back[1] === null ? null : again + back[1] },
      ];
    }),
);
const members = fc.array(membership, { minLength: KEEPERS, maxLength: KEEPERS });
const ALWAYS: Members = Array.from({ length: KEEPERS }, () => [{ joined: -100, left: null }]);

function play(steps: readonly [Step, number][], who: Members): World {
  const world = new World(who);
  for (const [each, daysLater] of steps) world.step(each, daysLater);
  world.nextDay();
  return world;
}

const within = (tallies: ReadonlyMap<Day, number>, since: Day, asOf: Day): number =>
  [...tallies].reduce((sum, [on, count]) => (on >= since && on <= asOf ? sum + count : sum), 0);

describe('stockCount', () => {
  it('balances over every span of any history, and agrees with plain tallies of what was held, born and lost', () => {
    fc.assert(
      fc.property(history, members, fc.nat(40), fc.nat(40), (steps, who, start, length) => {
        const world = play(steps, who);
        const since = addDays(FIRST, start);
        const asOf = addDays(since, length);
        const count = stockCount(world.stock(), since, asOf);
        expect(count.opening + count.births + count.arrivals - count.deaths - count.departures).toBe(count.closing);
        expect(count.unaccounted).toBe(0);
        expect(count.births).toBe(within(world.born, since, asOf));
        expect(count.deaths).toBe(within(world.lost, since, asOf));
        const before = world.held.get(addDays(since, -1));
        if (before !== undefined) expect(count.opening).toBe(before);
        const after = world.held.get(asOf);
        if (after !== undefined) expect(count.closing).toBe(after);
        const { sexes, ages, origins, closing } = count;
        for (const classes of [sexes, ages, origins])
          expect(Object.values(classes).reduce((sum, each) => sum + each, 0)).toBe(closing);
      }),
      { numRuns: 600 },
    );
  });

  it('two spans that follow one another add up to the whole', () => {
    fc.assert(
      fc.property(history, members, fc.nat(20), fc.nat(20), (steps, who, first, second) => {
        const stock = play(steps, who).stock();
        const middle = addDays(FIRST, first);
        const end = addDays(middle, second + 1);
        const [a, b, whole] = [
          stockCount(stock, FIRST, middle),
          stockCount(stock, addDays(middle, 1), end),
          stockCount(stock, FIRST, end),
        ];
        expect(a.closing).toBe(b.opening);
        for (const kind of ['births', 'arrivals', 'deaths', 'departures'] as const)
          expect([kind, a[kind] + b[kind]]).toEqual([kind, whole[kind]]);
      }),
    );
  });

  it('what passes between keepers who are all shown is no movement', () => {
    fc.assert(
      fc.property(history, (steps) => {
        const world = play(steps, ALWAYS);
        const registered = steps.reduce(
          (sum, [each]) => (each.kind === 'register' && !each.born ? sum + (each.lotOf ?? 1) : sum),
          0,
        );
        const count = stockCount(world.stock(), FIRST, addDays(FIRST, 200));
        expect([count.arrivals, count.departures]).toEqual([registered, 0]);
      }),
    );
  });

  it('a keeper who is not shown changes no number, whatever they have of their own', () => {
    fc.assert(
      fc.property(history, members, fc.nat(20), (steps, who, start) => {
        const hidden = who.map((member, i) => (i === 3 ? null : member));
        // Nothing of keeper 3 ever meets the others: their own animals only.
        const own = steps.filter(
          ([each]) => (each.kind === 'register' && each.who === 3) || (each.kind === 'give' && each.to === 3),
        );
        const others = steps.filter((each) => !own.includes(each));
        const since = addDays(FIRST, start);
        const asOf = addDays(since, 20);
        const theirs = play(
          own.filter(([each]) => each.kind === 'register'),
          hidden,
        ).stock();
        const stock = play(others, hidden).stock();
        expect(stockCount([...stock, ...theirs], since, asOf)).toEqual(stockCount(stock, since, asOf));
      }),
    );
  });

  it('shows a corrected count as unaccounted for, never as a movement', () => {
    fc.assert(
      fc.property(history, fc.integer({ min: -5, max: 5 }), (steps, delta) => {
        const world = play(steps, ALWAYS);
        const lot = world.records.find((record) => record.lot && record.holder !== null);
        if (lot === undefined || lot.count + delta <= 0) return;
        const asOf = addDays(FIRST, 200);
        lot.changes.push({ cause: 'corrected', delta, on: asOf, recordedAt: new Date(1e6) });
        expect(stockCount(world.stock(), FIRST, asOf).unaccounted).toBe(delta);
      }),
    );
  });
});

describe('classes of the closing stock', () => {
  const AS_OF = day('2026-06-01');
  const record = (id: string, more: Partial<StockRecord> = {}): StockRecord => ({
    id,
    taxonId: 'taxon',
    kind: 'individual',
    sex: 'unknown',
    originClass: 'unknown',
    birth: null,
    periods: [
      {
        from: FIRST,
        to: null,
        beganAt: new Date(1),
        arrivedBy: 'registered',
        leftBy: null,
        shown: { keeperId: id.slice(0, 1), joined: FIRST, left: null },
      },
    ],
    changes: [],
    ...more,
  });
  const exactly = (on: string) => ({ earliest: day(on), latest: day(on) });
  const lotOf = (count: number): Partial<StockRecord> => ({
    kind: 'lot',
    sex: 'female',
    changes: [{ cause: 'opening', delta: count, on: FIRST, recordedAt: new Date(1) }],
  });

  it('counts sex, origin and keepers; animals of a lot are unsexed', () => {
    const count = stockCount(
      [
        record('a1', { sex: 'male', originClass: 'bred' }),
        record('a2', { sex: 'female', originClass: 'wild' }),
        record('b1', { sex: 'female' }),
        record('c1', { ...lotOf(7), originClass: 'ranched' }),
      ],
      AS_OF,
      AS_OF,
    );
    expect(writeSexes(count.sexes)).toBe('1.2.7');
    expect(count.origins).toEqual({ bred: 1, wild: 1, ranched: 7, unknown: 1 });
    expect(count.keepers).toBe(3);
    expect(count.individuals).toEqual(['a1', 'a2', 'b1']);
  });

  it.each([
    ['on the day it reaches the bound', exactly('2025-06-01'), BOUND, 'adult'],
    ['a day younger', exactly('2025-06-02'), BOUND, 'juvenile'],
    ['with a birth around that day', { earliest: day('2025-05-01'), latest: day('2025-07-01') }, BOUND, 'notKnown'],
    ['born at some time before', { earliest: null, latest: day('2025-01-01') }, BOUND, 'adult'],
    ['without a birth', null, BOUND, 'notKnown'],
    ['of a taxon without a bound', exactly('1990-01-01'), null, 'notKnown'],
    ['past the earliest of two bounds', exactly('2025-06-01'), { from: 365, to: 1095 }, 'notKnown'],
    ['younger than the earliest of two bounds', exactly('2025-06-02'), { from: 365, to: 1095 }, 'juvenile'],
    ['past the latest of two bounds', exactly('2023-06-02'), { from: 365, to: 1095 }, 'adult'],
  ] as const)('an animal %s', (_, birth, maturity, expected) => {
    const { ages } = stockCount([record('a', { birth })], AS_OF, AS_OF, maturity);
    expect(ages).toEqual({ juvenile: 0, adult: 0, notKnown: 0, [expected]: 1 });
  });

  it('a lot has one age class', () => {
    const { ages } = stockCount([record('a', { ...lotOf(9), birth: exactly('2026-05-01') })], AS_OF, AS_OF);
    expect(ages).toEqual({ juvenile: 9, adult: 0, notKnown: 0 });
  });
});
