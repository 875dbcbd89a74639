import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, type Day, day } from '../../kernel/index.js';
import { type BookAnimal, type BookChange, type BookPeriod, stockBook, total } from './stock-book.core.js';

const FIRST = day('2026-01-01');

/** What really happens, in the order it is recorded: days never go back. */
type Step =
  | { readonly kind: 'register'; readonly who: number; readonly lotOf: number | null }
  | { readonly kind: 'split'; readonly which: number; readonly part: number }
  | { readonly kind: 'lose'; readonly which: number; readonly part: number }
  | { readonly kind: 'give'; readonly which: number; readonly to: number; readonly deadOnArrival: number };

type Record = {
  readonly id: number;
  readonly lot: boolean;
  holder: number | null;
  count: number;
  readonly periods: {
    holder: number;
    from: Day;
    to: Day | null;
    beganAt: Date;
    arrivedBy: BookPeriod['arrivedBy'];
    leftBy: BookPeriod['leftBy'];
  }[];
  readonly changes: BookChange[];
};

/** Keeps the world as the stores do, beside a plain count of what each keeper has at the end of each day. */
class World {
  readonly records: Record[] = [];
  readonly held = new Map<string, number>();
  private today = FIRST;
  private clock = 0;

  step(step: Step, daysLater: number): void {
    for (let i = 0; i < daysLater; i++) this.nextDay();
    const now = new Date(++this.clock);
    if (step.kind === 'register') {
      this.open(step.who, step.lotOf, 'registered', 'opening', now);
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
    for (let keeper = 0; keeper < 3; keeper++) {
      const count = this.records.reduce((sum, record) => (record.holder === keeper ? sum + record.count : sum), 0);
      this.held.set(`${keeper} ${this.today}`, count);
    }
    this.today = addDays(this.today, 1);
  }

  bookOf(keeper: number): BookAnimal[] {
    return this.records
      .filter((record) => record.periods.some((period) => period.holder === keeper))
      .map((record) => ({
        animalId: String(record.id),
        registerNumber: String(record.id),
        kind: record.lot ? 'lot' : 'individual',
        estimated: false,
        periods: record.periods.map(({ holder, ...rest }) => ({
          ...rest,
          mine: holder === keeper,
          cameFrom: null,
          wentTo: null,
        })),
        changes: record.changes,
      }));
  }

  get day(): Day {
    return this.today;
  }

  private open(
    who: number,
    lotOf: number | null,
    arrivedBy: 'registered' | 'split',
    cause: 'opening' | 'split_in',
    now: Date,
  ): void {
    const record: Record = {
      id: this.records.length,
      lot: lotOf !== null,
      holder: who,
      count: lotOf ?? 1,
      periods: [{ holder: who, from: this.today, to: null, beganAt: now, arrivedBy, leftBy: null }],
      changes: [],
    };
    if (lotOf !== null) record.changes.push({ cause, delta: lotOf, on: this.today, recordedAt: now });
    this.records.push(record);
  }

  private change(record: Record, cause: BookChange['cause'], delta: number, now: Date): void {
    record.changes.push({ cause, delta, on: this.today, recordedAt: now });
    record.count += delta;
  }

  private lose(record: Record, count: number, now: Date): void {
    if (record.lot) this.change(record, 'died', -count, now);
    else record.count = 0;
    if (record.count > 0) return;
    this.close(record, 'died');
    record.holder = null;
  }

  private close(record: Record, leftBy: 'given' | 'died'): void {
    const last = record.periods.at(-1);
    if (last !== undefined) Object.assign(last, { to: this.today, leftBy });
  }
}

const keeper = fc.integer({ min: 0, max: 2 });
const step = fc.oneof(
  fc.record({ kind: fc.constant('register' as const), who: keeper, lotOf: fc.option(fc.integer({ min: 1, max: 30 })) }),
  fc.record({ kind: fc.constant('split' as const), which: fc.nat(50), part: fc.nat(30) }),
  fc.record({ kind: fc.constant('lose' as const), which: fc.nat(50), part: fc.nat(30) }),
  fc.record({ kind: fc.constant('give' as const), which: fc.nat(50), to: keeper, deadOnArrival: fc.nat(3) }),
);
const history = fc.array(fc.tuple(step, fc.integer({ min: 0, max: 2 })), { minLength: 1, maxLength: 40 });

function play(steps: readonly [Step, number][]): World {
  const world = new World();
  for (const [each, daysLater] of steps) world.step(each, daysLater);
  world.nextDay();
  return world;
}

describe('stockBook', () => {
  it('balances for every keeper over every span of days of any history, and agrees with a plain count', () => {
    fc.assert(
      fc.property(history, fc.nat(40), fc.nat(40), (steps, start, length) => {
        const world = play(steps);
        const from = addDays(FIRST, start);
        const asOf = addDays(from, length);
        for (let who = 0; who < 3; who++) {
          const book = stockBook(world.bookOf(who), from, asOf);
          expect(book.unaccounted).toBe(0);
          expect(book.opening + total(book.arrivals) - total(book.departures)).toBe(book.closing);
          const before = world.held.get(`${who} ${addDays(from, -1)}`);
          if (before !== undefined) expect(book.opening).toBe(before);
          const after = world.held.get(`${who} ${asOf}`);
          if (after !== undefined) expect(book.closing).toBe(after);
        }
      }),
      { numRuns: 400 },
    );
  });

  it('shows a corrected count as unaccounted for, never as an arrival or departure', () => {
    fc.assert(
      fc.property(history, fc.integer({ min: -5, max: 5 }), (steps, delta) => {
        const world = play(steps);
        const lot = world.records.find((record) => record.lot && record.holder !== null);
        if (lot === undefined || lot.holder === null || delta === 0) return;
        lot.changes.push({ cause: 'corrected', delta, on: world.day, recordedAt: new Date(1e6) });
        expect(stockBook(world.bookOf(lot.holder), FIRST, world.day).unaccounted).toBe(delta);
      }),
    );
  });

  it('on a hand-over day leaves the giver what was recorded before and the receiver what was recorded with or after it', () => {
    const at = day('2026-03-01');
    const given: BookAnimal = {
      animalId: 'a',
      registerNumber: 'A',
      kind: 'lot',
      estimated: false,
      periods: [
        {
          mine: true,
          from: FIRST,
          to: at,
          beganAt: new Date(1),
          arrivedBy: 'born',
          leftBy: 'given',
          cameFrom: null,
          wentTo: 'Buyer',
        },
        {
          mine: false,
          from: at,
          to: null,
          beganAt: new Date(3),
          arrivedBy: 'received',
          leftBy: null,
          cameFrom: null,
          wentTo: null,
        },
      ],
      changes: [
        { cause: 'opening', delta: 10, on: FIRST, recordedAt: new Date(1) },
        { cause: 'died', delta: -1, on: at, recordedAt: new Date(2) },
        { cause: 'died', delta: -2, on: at, recordedAt: new Date(3) },
      ],
    };
    const { departures } = stockBook([given], FIRST, at);
    expect(departures.map(({ count, cause, counterparty }) => [count, cause, counterparty])).toEqual([
      [1, 'died', null],
      [9, 'given', 'Buyer'],
    ]);
    const flipped = { ...given, periods: given.periods.map((period) => ({ ...period, mine: !period.mine })) };
    const book = stockBook([flipped], FIRST, at);
    expect(book.arrivals.map(({ count, cause }) => [count, cause])).toEqual([[9, 'received']]);
    expect(book.departures.map(({ count, cause }) => [count, cause])).toEqual([[2, 'died']]);
    expect(book.closing).toBe(7);
  });
});
