import type { Day } from '../../kernel/index.js';
import type { Arrival, Departure } from './holder.core.js';

/** One period of an animal or lot with one holder, in force. Half-open days. */
export type BookPeriod = {
  /** Whether the book is this holder's. */
  readonly mine: boolean;
  readonly from: Day;
  readonly to: Day | null;
  /** When the period was first recorded: decides to whom a change on the hand-over day belongs. */
  readonly beganAt: Date;
  readonly arrivedBy: Arrival;
  readonly leftBy: Departure | null;
  /** Who it came from and went to, as far as the reader of the book may know. */
  readonly cameFrom: string | null;
  readonly wentTo: string | null;
};

/** One change of a lot's count. */
export type BookChange = {
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

/** One record with its whole history. An individual has no changes and counts one. */
export type BookAnimal = {
  readonly animalId: string;
  readonly registerNumber: string;
  readonly kind: 'individual' | 'lot';
  readonly estimated: boolean;
  /** In the order of time; periods of one day in the order they were recorded. */
  readonly periods: readonly BookPeriod[];
  readonly changes: readonly BookChange[];
};

/** One line of the book. */
export type BookEntry = {
  readonly day: Day;
  readonly animalId: string;
  readonly registerNumber: string;
  readonly count: number;
  readonly estimated: boolean;
  readonly cause: Arrival | Departure;
  readonly counterparty: string | null;
};

/** Arrivals and departures of a keeper over some days, both ends included. */
export type StockBook = {
  readonly opening: number;
  readonly arrivals: readonly BookEntry[];
  readonly departures: readonly BookEntry[];
  readonly closing: number;
  /** closing − (opening + arrived − departed): 0, or what the records leave unexplained, such as a corrected count. */
  readonly unaccounted: number;
};

/**
 * The book from `from` to the end of `asOf`. Opening and closing are counted from who has what on those days; arrivals and
 * departures are told from what happened. Neither is derived from the other, so that a gap shows.
 */
export function stockBook(animals: readonly BookAnimal[], from: Day, asOf: Day): StockBook {
  const within = (entry: BookEntry): boolean => entry.day >= from && entry.day <= asOf;
  const lines = animals.map(bookLines);
  const arrivals = lines.flatMap((line) => line.arrivals).filter(within);
  const departures = lines.flatMap((line) => line.departures).filter(within);
  const opening = animals.reduce((sum, animal) => sum + countHeld(animal, (day) => day < from), 0);
  const closing = animals.reduce((sum, animal) => sum + countHeld(animal, (day) => day <= asOf), 0);
  const byDay = (a: BookEntry, b: BookEntry): number => (a.day < b.day ? -1 : a.day > b.day ? 1 : 0);
  return {
    opening,
    arrivals: arrivals.toSorted(byDay),
    departures: departures.toSorted(byDay),
    closing,
    unaccounted: closing - (opening + total(arrivals) - total(departures)),
  };
}

/** Animals in some entries. */
export function total(entries: readonly BookEntry[]): number {
  return entries.reduce((sum, entry) => sum + entry.count, 0);
}

/** How many of a record the keeper has after all days that are `past`. */
function countHeld(animal: BookAnimal, past: (day: Day) => boolean): number {
  const holds = animal.periods.some(
    (period) => period.mine && past(period.from) && (period.to === null || !past(period.to)),
  );
  if (!holds) return 0;
  if (animal.kind === 'individual') return 1;
  return animal.changes.reduce((sum, change) => (past(change.on) ? sum + change.delta : sum), 0);
}

function bookLines(animal: BookAnimal): { arrivals: BookEntry[]; departures: BookEntry[] } {
  const arrivals: BookEntry[] = [];
  const departures: BookEntry[] = [];
  const { animalId, registerNumber, estimated } = animal;
  const entry = (day: Day, count: number, cause: Arrival | Departure, counterparty: string | null): BookEntry => ({
    day,
    animalId,
    registerNumber,
    count,
    estimated,
    cause,
    counterparty,
  });
  let running =
    animal.kind === 'individual'
      ? 1
      : animal.changes.reduce((sum, change) => (isOpening(change) ? sum + change.delta : sum), 0);
  for (const [index, period] of animal.periods.entries()) {
    if (period.mine) arrivals.push(entry(period.from, running, period.arrivedBy, period.cameFrom));
    for (const change of animal.changes) {
      if (isOpening(change) || periodOf(animal.periods, change) !== index) continue;
      running += change.delta;
      const word = WORDS[change.cause];
      if (!period.mine || word === null) continue;
      if (change.delta > 0) arrivals.push(entry(change.on, change.delta, word, null));
      else departures.push(entry(change.on, -change.delta, word, null));
    }
    if (period.mine && period.to !== null && period.leftBy !== null && running > 0) {
      departures.push(entry(period.to, running, period.leftBy, period.wentTo));
    }
  }
  return { arrivals, departures };
}

/** In which word the book tells a change; null: not at all. A corrected count stays unexplained. */
const WORDS: Readonly<Record<BookChange['cause'], Arrival | Departure | null>> = {
  opening: null,
  split_in: null,
  corrected: null,
  split_out: 'split',
  joined_in: 'joined',
  joined_out: 'joined',
  raised_out: 'raised',
  died: 'died',
  missing: 'missing',
  stolen: 'stolen',
  escaped: 'escaped',
  found: 'found',
};

function isOpening(change: BookChange): boolean {
  return change.cause === 'opening' || change.cause === 'split_in';
}

/**
 * The period a change belongs to. On a day on which the animal changed hands several touch it: then it is the last one that
 * had been recorded when the change was. A change recorded together with the hand-over (dead on arrival) is the receiver's.
 */
function periodOf(periods: readonly BookPeriod[], change: BookChange): number {
  const touches = (period: BookPeriod): boolean =>
    period.from <= change.on && (period.to === null || change.on <= period.to);
  const known = periods.findLastIndex((period) => touches(period) && period.beganAt <= change.recordedAt);
  return known >= 0 ? known : periods.findIndex(touches);
}
