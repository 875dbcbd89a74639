import fc from 'fast-check';
import { type AnyCommand, forecastOf } from './forecasts.js';
import { type Model } from './history-model.js';
import { type Cast, type HistoryWorld } from './history-world.js';

/** A history that is under way. `writes` counts entries the ledger must have. */
export type Running = {
  readonly world: HistoryWorld;
  readonly cast: Cast;
  writes: number;
  done: number;
  refused: number;
  /** Commands drawn about what there is none of. */
  idle: number;
};

/** A command before it is known which records there are: numbers stand for them. */
export type Draft = (model: Model, cast: Cast) => AnyCommand;

export const NOBODY = '01900000-0000-7000-8000-000000000000';

function isAboutNothing(command: AnyCommand): boolean {
  const named = { transfer: '', payment: '', claim: '', clutch: '', ask: '', lot: '', ...command };
  return [named.transfer, named.payment, named.claim, named.clutch, named.ask, named.lot].includes(NOBODY);
}

/** Runs a draft on the model and on the program, and compares what became of it. */
export class Step implements fc.AsyncCommand<Model, Running> {
  private told = '';

  constructor(private readonly draft: Draft) {}

  drafted(model: Model, cast: Cast): AnyCommand {
    return this.draft(model, cast);
  }

  // Commands that must be refused are run as well.
  check(): boolean {
    return true;
  }

  async run(model: Model, running: Running): Promise<void> {
    const command = this.draft(model, running.cast);
    // A step of what there is none of yet is refused at once; now and then that is tried.
    if (isAboutNothing(command) && (running.idle += 1) % 10 !== 0) return;
    const expected = forecastOf(model, command);
    this.told = JSON.stringify(command);
    const outcome = await running.world.run(model, command);
    if ('refused' in outcome) {
      running.refused += 1;
      const allowed = 'refused' in expected ? expected.refused : expected.unless;
      const known = allowed.includes('*') || allowed.includes(outcome.refused);
      if (!known)
        throw new Error(`${this.told} was refused with ${outcome.refused}; expected: ${allowed.join() || 'done'}.`);
      if (!('refused' in expected)) return;
      running.writes += expected.entries;
      expected.apply();
      return;
    }
    if ('refused' in expected)
      throw new Error(`${this.told} was done; expected: refused with ${expected.refused.join()}.`);
    running.done += 1;
    running.writes += expected.entries;
    expected.apply(outcome.made);
  }

  toString(): string {
    return this.told;
  }
}

// Without a bias to small numbers, which stand for the rarer choices.
export const number = fc.noBias(fc.nat(1_000));
/** Days from 1 to 11 June; the tests happen on the tenth, and most of what is told happened late. */
export const aDay = fc
  .oneof(
    { weight: 3, arbitrary: fc.integer({ min: 1, max: 11 }) },
    { weight: 5, arbitrary: fc.integer({ min: 7, max: 10 }) },
  )
  .map((n) => `2026-06-${String(n).padStart(2, '0')}`);
export const few = fc.integer({ min: 1, max: 7 });
export const pick = <T>(list: readonly T[], n: number): T | undefined => list[n % Math.max(list.length, 1)];
export const animalOf = (model: Model, n: number): string => pick([...model.animals.keys()], n) ?? NOBODY;
export const keeperOf = (cast: Cast, n: number): string => pick(cast.keepers, n) ?? NOBODY;
export const accountOf = (cast: Cast, n: number): string => pick(cast.accounts, n) ?? NOBODY;

/** Mostly somebody who may: an account that acts for a keeper who has the record; now and then anybody. */
export function whoHas(model: Model, cast: Cast, animalId: string, n: number): string {
  const animal = model.animals.get(animalId);
  const mine = cast.accounts.filter((account) =>
    model.keepersOf(account).some((keeper) => animal?.open.has(`holder ${keeper}`) === true),
  );
  return (n % 6 === 0 ? undefined : pick(mine, n)) ?? accountOf(cast, n);
}

/** Mostly somebody of the side whose step it is. */
export function ofSide(model: Model, cast: Cast, transferId: string, giver: boolean, n: number): string {
  const transfer = model.transfers.get(transferId);
  const keeper = transfer === undefined ? '' : giver || transfer.outside ? transfer.from : transfer.to;
  const mine = cast.accounts.filter((account) => model.acts(account, keeper));
  return (n % 7 === 0 ? undefined : pick(mine, n)) ?? accountOf(cast, n);
}

/** Mostly a transfer in the state from which the step leads on. */
export function transferIn(model: Model, state: string, n: number): string {
  const all = [...model.transfers.values()];
  const ready = all.filter((each) => each.state === state);
  return (n % 5 === 0 ? pick(all, n) : (pick(ready, n) ?? pick(all, n)))?.id ?? NOBODY;
}

/** Mostly a day on which whoever has the animal had it. */
export function inTime(model: Model, animalId: string, on: string, n: number): string {
  const from = model.animals.get(animalId)?.custody.at(-1)?.from ?? on;
  return n % 6 === 5 || on >= from ? on : from;
}

/** Mostly a number that can be taken out of a lot: at most all of it, or all but `stays`. */
export function some(model: Model, animalId: string, count: number, n: number, stays = 0): number {
  const there = (model.animals.get(animalId)?.count ?? 1) - stays;
  return n % 9 === 8 || there < 1 ? count : ((count - 1) % there) + 1;
}

export function lotOr(model: Model, n: number): string {
  const lots = [...model.animals.values()].filter(({ kind, count }) => kind === 'lot' && count > 0);
  return (n % 8 === 0 ? undefined : pick(lots, n)?.id) ?? animalOf(model, n);
}

export const step = <T>(arbitrary: fc.Arbitrary<T>, draft: (drawn: T, model: Model, cast: Cast) => AnyCommand) =>
  arbitrary.map((drawn) => new Step((model, cast) => draft(drawn, model, cast)));
