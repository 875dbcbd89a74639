import { type Clutch, type EggEvent, ENDS, eggHolder, eggSince, lifeOf, numbersOf } from './clutch.js';
import { youngOfLoan } from './loan-rules.js';
import { type Model, newAnimal, begin, TODAY, type Transfer, type TransferEgg } from './history-model.js';
import { type Forecast, no, yes } from './forecast.js';

/** A command about eggs with the ids it is about. `eggs` are numbers; null = all that are left. */
export type EggCommand = { readonly by: string } & (
  | { readonly do: 'lay'; dam: string; laid: string; count: number; separate: boolean }
  | { readonly do: 'tend'; clutch: string; eggs: readonly number[] | null; kind: EggEventKind; on: string }
  | { readonly do: 'hatch'; clutch: string; young: readonly Youngling[]; on: string }
);
export type EggEventKind = 'incubated' | 'candled' | 'infertile' | 'failed' | 'fate_unknown' | 'hatched';
export type Youngling = { readonly egg: number | null; readonly count: number };

/** Eggs of one clutch in an offer: these numbers, so many of those that are left, or (both null) all that are left. */
export type EggsAsked = {
  readonly clutch: string;
  readonly numbers: readonly number[] | null;
  readonly count: number | null;
};
/** What is said of eggs of one clutch when they arrive. */
export type EggsTold = { readonly clutch: string; readonly numbers: readonly number[]; readonly state: string };

const OVER = ['declined', 'withdrawn', 'expired', 'cancelled', 'failed'];
const STAYS = ['missing', 'refused'];

export const isPendingEgg = ({ told, notSent }: TransferEgg): boolean => told === null && !notSent;

/** Whether an event can be told of eggs: after the laying, not to come, and none of them ended before it. */
function eventFault(
  clutch: Clutch,
  eggs: readonly number[],
  event: Omit<EggEvent, 'egg'>,
  whole = false,
): string | null {
  if (event.on > TODAY) return 'DAY_IN_FUTURE';
  if (event.on < clutch.laid) return 'EGG_EVENT_BEFORE_LAID';
  const breaks = (egg: number): boolean => lifeOf(clutch, egg, [{ ...event, egg: whole ? null : egg }]).broken;
  return eggs.some(breaks) ? 'EGG_EVENT_OUT_OF_ORDER' : null;
}

function itemOf(model: Model, clutch: Clutch, egg: number, ...states: string[]): TransferEgg | undefined {
  return [...model.transfers.values()]
    .filter(({ state }) => states.includes(state))
    .flatMap(({ eggs }) => eggs)
    .find((each) => each.clutch === clutch.id && each.number === egg && isPendingEgg(each));
}
const isPromised = (model: Model, clutch: Clutch, egg: number): boolean =>
  itemOf(model, clutch, egg, 'offered', 'accepted', 'sent') !== undefined;
export const isOnItsWay = (model: Model, clutch: Clutch, egg: number): boolean =>
  itemOf(model, clutch, egg, 'sent') !== undefined;

function isApart(model: Model, clutch: Clutch): boolean {
  return clutch.had.size > 0 || numbersOf(clutch).some((egg) => isOnItsWay(model, clutch, egg));
}

/** Transfers in which a clutch is shared with a receiver: once it is received, where some egg stayed there. */
export function sharesOf(model: Model, clutch: Clutch): Transfer[] {
  return [...model.transfers.values()].filter(({ outside, state, eggs }) => {
    const own = eggs.filter((egg) => egg.clutch === clutch.id && !egg.notSent);
    if (outside || OVER.includes(state) || own.length === 0) return false;
    return state !== 'received' || own.some(({ told }) => !STAYS.includes(told ?? ''));
  });
}

/** Who recorded the clutch, has eggs of it, or had some and is still shown it. */
function isIn(model: Model, by: string, clutch: Clutch): boolean {
  if (model.acts(by, clutch.keeper)) return true;
  const spans = [...clutch.had.values()].flat().filter(({ holder }) => model.acts(by, holder));
  return (
    spans.some(({ to }) => to === null) ||
    (spans.length > 0 && sharesOf(model, clutch).some(({ to }) => model.acts(by, to)))
  );
}

type Meant = { readonly keeper: string; readonly numbers: readonly number[] | null; readonly since: string | null };

/** Whose eggs somebody means: those with one keeper of theirs. What ends an egg waits while it is on its way. */
function meant(
  model: Model,
  by: string,
  clutch: Clutch,
  numbers: readonly number[] | null,
  ending: boolean,
): Meant | { readonly refused: string } {
  const mine = model.keepersOf(by);
  const since = (eggs: readonly number[]): string | null =>
    eggs
      .flatMap((egg) => clutch.had.get(egg)?.at(-1)?.from ?? [])
      .toSorted()
      .at(-1) ?? null;
  if (numbers === null || numbers.length === 0) {
    if (!isApart(model, clutch))
      return mine.includes(clutch.keeper)
        ? { keeper: clutch.keeper, numbers: null, since: null }
        : { refused: 'EGG_HANDED_ON' };
    const left = numbersOf(clutch).filter(
      (egg) => !lifeOf(clutch, egg).over && !(ending && isOnItsWay(model, clutch, egg)),
    );
    const keeper = [clutch.keeper, ...mine].find(
      (each) => mine.includes(each) && left.some((egg) => eggHolder(clutch, egg) === each),
    );
    if (keeper === undefined) return { refused: 'EGG_HANDED_ON' };
    const own = left.filter((egg) => eggHolder(clutch, egg) === keeper);
    return { keeper, numbers: own, since: since(own) };
  }
  const keepers = new Set(numbers.map((egg) => eggHolder(clutch, egg)));
  if ([...keepers].some((keeper) => !mine.includes(keeper))) return { refused: 'EGG_HANDED_ON' };
  const [keeper = ''] = keepers;
  if (keepers.size > 1) return { refused: 'EGGS_OF_TWO_KEEPERS' };
  if (ending && numbers.some((egg) => isOnItsWay(model, clutch, egg))) return { refused: 'EGG_ON_ITS_WAY' };
  return { keeper, numbers, since: since(numbers) };
}

/** What should become of a command about eggs; eggs of transfers are asked about below. */
export function forecastEggs(model: Model, command: EggCommand): Forecast {
  if (command.do === 'lay') return lay(model, command);
  const clutch = model.clutches.get(command.clutch);
  if (clutch === undefined || !isIn(model, command.by, clutch)) return no('NOT_FOUND');
  return command.do === 'tend' ? tend(model, clutch, command) : hatch(model, clutch, command);
}

function lay(model: Model, { by, dam: id, laid, count, separate }: Extract<EggCommand, { do: 'lay' }>): Forecast {
  const dam = model.animals.get(id);
  const may = model.authority(by, dam, false);
  if ('refused' in may || dam === undefined) return no('refused' in may ? may.refused : 'NOT_FOUND');
  if (dam.kind === 'lot') return no('BREEDING_PARENT_IS_LOT');
  if (laid > TODAY) return no('DAY_IN_FUTURE');
  if (dam.born !== null && laid < dam.born) return no('FACT_BEFORE_BIRTH');
  const same = [...model.clutches.values()].some((each) => each.dam === id && each.laid === laid);
  if (same && !separate) return no('CLUTCH_PROBABLY_RECORDED');
  return yes(([clutch = '']) => {
    const more = { laid, count, had: new Map(), events: [], loan: null, young: [] };
    model.clutches.set(clutch, { id: clutch, keeper: may.keeper, dam: id, ...more });
  });
}

function tend(model: Model, clutch: Clutch, { by, eggs, kind, on }: Extract<EggCommand, { do: 'tend' }>): Forecast {
  const whose = meant(model, by, clutch, eggs, ENDS.includes(kind));
  if ('refused' in whose) return no(whose.refused);
  const { numbers } = whose;
  if (numbers !== null && Math.max(...numbers) > clutch.count) return no('EGG_NUMBER_TOO_HIGH');
  const fault = eventFault(clutch, numbers ?? numbersOf(clutch), { kind, on }, numbers === null);
  if (fault !== null) return no(fault);
  return yes(() => {
    for (const egg of numbers ?? [null]) clutch.events.push({ egg, kind, on });
  });
}

function hatch(model: Model, clutch: Clutch, { by, young, on }: Extract<EggCommand, { do: 'hatch' }>): Forecast {
  const named = young.flatMap(({ egg }) => egg ?? []);
  const whose = meant(model, by, clutch, named, true);
  if ('refused' in whose) return no(whose.refused);
  if (isApart(model, clutch) && !countsUp(model, clutch, whose.keeper, young)) return no('HATCHLING_EGG_NOT_SAID');
  if (on < clutch.laid) return no('HATCHED_BEFORE_LAID');
  if (on > TODAY) return no('DAY_IN_FUTURE');
  if (Math.max(0, ...named) > clutch.count) return no('EGG_NUMBER_TOO_HIGH');
  const [opened, faults] = [new Set(named), new Set<string>()];
  for (const egg of opened) {
    const before = clutch.young.filter((each) => each.egg === egg).length;
    if (before + named.filter((each) => each === egg).length > 2) faults.add('EGG_THREE_YOUNG');
    else if (!hasHatched(clutch, egg)) {
      const fault = eventFault(clutch, [egg], { kind: 'hatched', on });
      if (fault !== null) faults.add(fault);
    }
  }
  const dam = model.animals.get(clutch.dam);
  // Nothing has young on the day it came out of an egg itself.
  if (dam !== undefined && dam.born !== null && on <= dam.born) faults.add('LINEAGE_PARENT_NOT_YET_BORN');
  if (faults.size > 0) return no(...faults);
  const since = whose.since !== null && whose.since > on ? whose.since : on;
  const loan = youngOfLoan(model, clutch, whose.keeper);
  const record = (ids: readonly string[]): void => {
    for (const egg of opened) if (!hasHatched(clutch, egg)) clutch.events.push({ egg, kind: 'hatched', on });
    for (const [i, { egg, count }] of young.entries()) {
      const animal = newAnimal(ids[i] ?? '', count > 1 ? 'lot' : 'individual', count);
      Object.assign(animal, { dam: clutch.dam, born: on });
      begin(animal, whose.keeper, since);
      model.own(animal, new Map([[whose.keeper, 1]]), since);
      model.animals.set(animal.id, animal);
      clutch.young.push({ animal: animal.id, egg, count, keeper: whose.keeper });
      loan?.apply(animal);
    }
  };
  // Of a merged dam it counts what either record says of her birth.
  const merged = dam !== undefined && (dam.mergedInto !== null || model.hasMerged(dam.id));
  return yes(record, merged ? ['LINEAGE_PARENT_NOT_YET_BORN'] : [], loan === null ? 1 : 2);
}

const hasHatched = ({ events }: Clutch, egg: number): boolean =>
  events.some((event) => event.kind === 'hatched' && (event.egg === egg || event.egg === null));

/**
 * Of a clutch that is apart each of the young names its egg; lots need not, up to the eggs that are left unnamed. What named no
 * egg before came out of some of those, unless it came out of such as hatched and have no young.
 */
function countsUp(model: Model, clutch: Clutch, keeper: string, young: readonly Youngling[]): boolean {
  const unnamed = young.filter(({ egg }) => egg === null);
  if (unnamed.some(({ count }) => count === 1)) return false;
  const before = clutch.young.filter((each) => each.egg === null && each.keeper === keeper);
  const own = numbersOf(clutch).filter((egg) => eggHolder(clutch, egg) === keeper);
  const alone = own.filter((egg) => hasHatched(clutch, egg) && !clutch.young.some((each) => each.egg === egg));
  const spent = Math.max(0, sum(before) - alone.length);
  const left = own.filter(
    (egg) => !lifeOf(clutch, egg).over && !isOnItsWay(model, clutch, egg) && !young.some((each) => each.egg === egg),
  );
  return unnamed.length === 0 || sum(unnamed) <= left.length - spent;
}

const sum = (young: readonly { readonly count: number }[]): number =>
  young.reduce((total, { count }) => total + count, 0);

/** The eggs an offer names, by what the giver has and has promised; or what refuses them. */
export function askEggs(
  model: Model,
  { by, from, eggs }: { readonly by: string; readonly from: string; readonly eggs: readonly EggsAsked[] },
): TransferEgg[] | { readonly refused: string } {
  if (new Set(eggs.map(({ clutch }) => clutch)).size < eggs.length) return { refused: 'TRANSFER_ITEM_TWICE' };
  const taken: TransferEgg[] = [];
  for (const asked of eggs.toSorted((a, b) => (a.clutch < b.clutch ? -1 : 1))) {
    const clutch = model.clutches.get(asked.clutch);
    if (clutch === undefined || !isIn(model, by, clutch)) return { refused: 'NOT_FOUND' };
    const whose = meant(model, by, clutch, asked.numbers, true);
    if ('refused' in whose) return whose;
    if (whose.keeper !== from) return { refused: 'NOT_FOUND' };
    const over = (egg: number): boolean => lifeOf(clutch, egg).over;
    if (asked.numbers?.some(over) === true) return { refused: 'EGG_ENDED' };
    if (asked.numbers !== null && Math.max(...asked.numbers) > clutch.count) return { refused: 'EGG_NUMBER_TOO_HIGH' };
    const free = (whose.numbers ?? numbersOf(clutch)).filter((egg) => !over(egg) && !isPromised(model, clutch, egg));
    const count = asked.count ?? free.length;
    if (asked.numbers === null && (count < 1 || count > free.length)) return { refused: 'EGGS_TOO_FEW' };
    for (const number of asked.numbers ?? free.slice(0, count))
      taken.push({ clutch: clutch.id, number, told: null, notSent: false });
  }
  const promised = taken.some(({ clutch, number }) => isPromised(model, clutchOf(model, clutch), number));
  return promised ? { refused: 'TRANSFER_EGG_OPEN' } : taken;
}

function clutchOf(model: Model, id: string): Clutch {
  const clutch = model.clutches.get(id);
  if (clutch === undefined) throw new Error('The model knows of eggs of no clutch.');
  return clutch;
}

/** What keeps the eggs of a transfer from being sent on a day, or null. */
export function sendEggsFault(model: Model, { from, eggs }: Transfer, on: string): string | null {
  const known = eggs.map((egg) => ({ clutch: clutchOf(model, egg.clutch), number: egg.number }));
  if (known.some(({ clutch, number }) => lifeOf(clutch, number).over || eggHolder(clutch, number) !== from))
    return 'TRANSFER_EGG_GONE';
  return known.some(({ clutch, number }) => on < eggSince(clutch, number)) ? 'TRANSFER_SENT_BEFORE_HELD' : null;
}

/** What is said of eggs that arrive: each that is on its way once, and of all of them unless more is to come. Null = it misfits. */
export function toldEggs(
  { eggs }: Transfer,
  said: readonly EggsTold[],
  more: boolean,
): { readonly egg: TransferEgg; readonly state: string }[] | null {
  const pending = eggs.filter(isPendingEgg);
  const told = new Map<TransferEgg, string>();
  for (const { clutch, numbers, state } of said)
    for (const number of numbers) {
      const egg = pending.find((each) => each.clutch === clutch && each.number === number);
      if (egg === undefined || told.has(egg)) return null;
      told.set(egg, state);
    }
  if (!more && told.size < pending.length) return null;
  return [...told].map(([egg, state]) => ({ egg, state }));
}

const LAST_WORD: Readonly<Record<string, string>> = { dead: 'failed', missing: 'fate_unknown' };

/** Whether what arrived dead, or not at all, can be told of its egg on that day. */
export function landFault(
  model: Model,
  told: readonly { egg: TransferEgg; state: string }[],
  on: string,
): string | null {
  const faults = told.map(({ egg, state }) => {
    const kind = LAST_WORD[state];
    return kind === undefined ? null : eventFault(clutchOf(model, egg.clutch), [egg.number], { kind, on });
  });
  return faults.find((fault) => fault !== null) ?? null;
}

export function land(model: Model, to: string, told: readonly { egg: TransferEgg; state: string }[], on: string): void {
  for (const { egg, state } of told) {
    egg.told = state;
    const clutch = clutchOf(model, egg.clutch);
    if (!STAYS.includes(state)) {
      const had = clutch.had.get(egg.number) ?? [];
      for (const span of had) span.to ??= on;
      clutch.had.set(egg.number, [...had, { holder: to, from: on, to: null }]);
    }
    const kind = LAST_WORD[state];
    if (kind !== undefined) clutch.events.push({ egg: egg.number, kind, on });
  }
}

/** What somebody without an account received is, and has been, the keeper's. */
export function claimEggs(model: Model, party: string, keeper: string): void {
  for (const clutch of model.clutches.values())
    for (const span of [...clutch.had.values()].flat()) if (span.holder === party) span.holder = keeper;
}
