import {
  type Animal,
  begin,
  changeCount,
  close,
  dayFault,
  held,
  type Item,
  loseTo,
  type Model,
  newAnimal,
  offspringOf,
  owned,
  type Role,
  TODAY,
  dividedBy,
} from './history-model.js';
import { awayOf } from './change-rules.js';
import { unpicked } from './loan-rules.js';
import { type Forecast, no, yes } from './forecast.js';
import { sharesText } from './shares-text.js';
import { waiting } from './title-rules.js';

/** A command with the ids it is about. */
export type Command = { readonly by: string } & (
  | {
      readonly do: 'register';
      keeper: string;
      kind: 'individual' | 'lot';
      count: number;
      since: string;
      dam: string | null;
    }
  | { readonly do: 'split'; animal: string; count: number; on: string }
  | { readonly do: 'join'; animal: string; into: string; on: string }
  | { readonly do: 'raise'; animal: string; count: number; on: string }
  | { readonly do: 'lose'; animal: string; cause: 'died' | 'missing' | 'stolen' | 'escaped'; count: number; on: string }
  | { readonly do: 'find'; animal: string; count: number; on: string }
  | { readonly do: 'recount'; animal: string; count: number; on: string }
  | { readonly do: 'die'; animal: string; count: number | null; on: string }
  | { readonly do: 'correctDeath'; animal: string; on: string | null }
  | { readonly do: 'fate'; animal: string; change: Fate; on: string }
  | { readonly do: 'merge'; animal: string; into: string }
  | { readonly do: 'undoMerge'; animal: string }
  | { readonly do: 'invite'; keeper: string; person: string }
  | { readonly do: 'role'; keeper: string; person: string; role: 'owner' | 'helper' | null }
);
export type Fate = 'missing' | 'stolen' | 'escaped' | 'seized' | 'surrendered' | 'left_registry' | 'found';

const NEXT: Record<string, readonly string[]> = {
  alive: ['missing', 'stolen', 'escaped', 'seized', 'surrendered', 'left_registry'],
  missing: ['alive', 'stolen', 'escaped', 'seized'],
  escaped: ['alive', 'missing', 'stolen', 'seized'],
  stolen: ['alive', 'missing', 'seized'],
  seized: ['alive', 'surrendered'],
  surrendered: ['alive'],
  left_registry: ['alive'],
  dead: [],
};

/** What should become of a command about records and people; transfers are in transfer-rules. */
export function forecast(model: Model, command: Command): Forecast {
  switch (command.do) {
    case 'register':
      return register(model, command);
    case 'merge':
      return merge(model, command);
    case 'undoMerge':
      return undoMerge(model, command);
    case 'fate':
      return fate(model, command);
    case 'correctDeath':
      return correctDeath(model, command);
    case 'invite':
    case 'role':
      return people(model, command);
    default:
      return ofLot(model, command);
  }
}

function register(
  model: Model,
  { by, keeper, kind, count, since, dam }: Extract<Command, { do: 'register' }>,
): Forecast {
  if (!model.acts(by, keeper)) return no('NOT_FOUND');
  if (since > TODAY) return no('DAY_IN_FUTURE');
  const mother = dam === null ? null : model.animals.get(dam);
  if (mother !== null) {
    if (mother === undefined || !model.sees(by, mother)) return no('NOT_FOUND');
    if (mother.mergedInto !== null) return no('RECORD_MERGED');
    if (mother.kind === 'lot') return no('LINEAGE_PARENT_IS_LOT');
  }
  return yes(([id = '']) => {
    const made = newAnimal(id, kind, count);
    made.dam = dam;
    begin(made, keeper, since);
    model.own(made, new Map([[keeper, 1]]), since);
    model.animals.set(id, made);
  });
}

/** Splits, joins, raisings, losses, and deaths of single animals too: by whoever has the record, on a day they had it. */
function ofLot(
  model: Model,
  command: Extract<Command, { do: 'split' | 'join' | 'raise' | 'lose' | 'find' | 'recount' | 'die' }>,
): Forecast {
  const { by, on } = command;
  const animal = model.animals.get(command.animal);
  const may = model.authority(by, animal);
  if ('refused' in may || animal === undefined) return no('refused' in may ? may.refused : 'NOT_FOUND');
  if (command.do === 'join') return join(model, animal, command);
  const single = animal.kind === 'individual';
  if (command.do === 'die' && (command.count === null) !== single && !(single && command.count === 1)) return no('*');
  if (command.do !== 'die' && single) return no('*');
  if (!single && animal.fate !== 'alive' && animal.fate !== 'dead') return no('ANIMAL_NOT_ALIVE');
  if (command.do === 'lose' && command.cause === 'stolen' && !animal.open.has(`owner ${may.keeper}`))
    return no('THEFT_BY_OWNER_ONLY');
  if (dayFault(animal, on) !== null) return no('*');
  const count = command.count ?? 1;
  switch (command.do) {
    case 'split':
      if (count >= animal.count || owned(animal).disputed) return no('*');
      return yes(([id = '']) => void splitOff(model, animal, id, count, on));
    case 'raise':
      if (owned(animal).disputed) return no('OWNERSHIP_DISPUTED');
      if (count > animal.count) return no('LOT_TOO_SMALL');
      return yes((ids) => {
        for (const id of ids) model.animals.set(id, offspringOf(model, animal, id, 'individual', 1, on));
        for (let i = 0; i < ids.length; i += 1) changeCount(animal, 'raised_out', -1, on);
        if (animal.count === 0) close(animal, on, 'raised');
      });
    case 'find':
      if (count > awayOf(animal)) return no('LOT_FOUND_TOO_MANY');
      return yes(() => changeCount(animal, 'found', count, on));
    case 'recount':
      if (count === animal.count) return no('LOT_COUNT_SAME');
      return yes(() => changeCount(animal, 'corrected', count - animal.count, on));
    case 'lose':
    case 'die': {
      const dies = command.do === 'die' || command.cause === 'died';
      if (count > animal.count || (!dies && count === animal.count)) return no('*');
      return yes(() => {
        if (dies) return dieOf(animal, count, on);
        if (command.do === 'lose') changeCount(animal, command.cause, -count, on);
      });
    }
  }
}

/** Takes a part of a lot into a record of its own. */
export function splitOff(model: Model, lot: Animal, id: string, count: number, on: string): Animal {
  const part = offspringOf(model, lot, id, 'lot', count, on);
  model.animals.set(id, part);
  changeCount(lot, 'split_out', -count, on);
  return part;
}

/** So many die; none left ends it. */
export function dieOf(animal: Animal, count: number, on: string): void {
  changeCount(animal, 'died', -count, on);
  if (animal.count > 0) return;
  animal.fateBeforeDeath = animal.fate;
  animal.fate = 'dead';
  close(animal, on, 'died');
}

/** Whether two records are the property of the same owners in the same shares. */
function sameOwners(a: Animal, b: Animal): boolean {
  return sharesText(owned(a).shares, false) === sharesText(owned(b).shares, false);
}

function join(model: Model, from: Animal, { by, into: intoId, on }: Extract<Command, { do: 'join' }>): Forecast {
  const into = model.animals.get(intoId);
  const may = model.authority(by, into);
  if ('refused' in may || into === undefined) return no('refused' in may ? may.refused : 'NOT_FOUND');
  if (from === into || from.kind !== 'lot' || into.kind !== 'lot') return no('*');
  if ([from, into].some((lot) => lot.fate !== 'alive' || lot.count === 0 || dayFault(lot, on) !== null)) return no('*');
  if (held(from)?.holder !== held(into)?.holder) return no('LOT_JOIN_OTHER_HOLDER');
  if (owned(from).disputed || owned(into).disputed) return no('OWNERSHIP_DISPUTED');
  if (!sameOwners(from, into)) return no('LOT_JOIN_OTHER_OWNERS');
  const apart = from.quarantine !== into.quarantine;
  if (waitingItem(model, from) !== waitingItem(model, into)) return no(apart ? '*' : 'LOT_JOIN_UNPAID');
  const clutchOf = (lot: Animal): string | null =>
    dividedBy(model, lot) === null ? null : (lot.young?.clutch ?? null);
  if (clutchOf(from) !== clutchOf(into)) return no(apart ? '*' : 'LOT_JOIN_LOAN_YOUNG');
  return yes(
    () => {
      for (const loan of from.lent) into.lent.add(loan);
      changeCount(into, 'joined_in', from.count, on);
      changeCount(from, 'joined_out', -from.count, on);
      from.quarantine = null;
      close(from, on, 'joined');
      if (into.dam !== from.dam) into.dam = null;
      if (into.born !== from.born) into.born = null;
    },
    apart ? ['LOT_JOIN_QUARANTINE'] : [],
  );
}

/** The item by which a record waits for payment. */
function waitingItem(model: Model, lot: Animal): Item | undefined {
  return [...model.transfers.values()].flatMap((each) => waiting(model, each)).find(({ animal }) => animal === lot)
    ?.item;
}

function correctDeath(model: Model, { by, animal: id, on }: Extract<Command, { do: 'correctDeath' }>): Forecast {
  const animal = model.animals.get(id);
  const may = model.authority(by, animal);
  if ('refused' in may || animal === undefined) return no('refused' in may ? may.refused : 'NOT_FOUND');
  if (animal.fate !== 'dead') return no('FATE_NOT_GONE');
  if (animal.kind === 'lot') return no('NOT_AN_INDIVIDUAL');
  const last = animal.custody.at(-1);
  if (last === undefined || (on !== null && (on > TODAY || on < last.from))) return no('*');
  return yes(() => {
    last.to = on;
    if (on !== null) return;
    last.left = null;
    animal.fate = animal.fateBeforeDeath;
    animal.count = 1;
  });
}

function fate(model: Model, { by, animal: id, change, on }: Extract<Command, { do: 'fate' }>): Forecast {
  const animal = model.animals.get(id);
  const owns = animal !== undefined && model.keepersOf(by).some((keeper) => animal.open.has(`owner ${keeper}`));
  const byOwner = owns && (change === 'stolen' || change === 'found');
  const may = model.authority(by, animal, !byOwner && change !== 'stolen');
  if ('refused' in may || animal === undefined) return no('refused' in may ? may.refused : 'NOT_FOUND');
  const to = change === 'found' ? 'alive' : change;
  if ((change === 'stolen' || animal.fate === 'stolen') && !owns) return no('THEFT_BY_OWNER_ONLY');
  if (NEXT[animal.fate]?.includes(to) !== true) return no(animal.fate === to ? 'FATE_ALREADY' : 'FATE_IMPOSSIBLE');
  // A lot that was used up: nothing of it can be lost.
  if (held(animal) === undefined && to !== 'alive') return no('*');
  const holder = held(animal)?.holder ?? 'unknown';
  const elsewhere = ['authority', 'unknown'].includes(holder);
  // Of a theft of what another keeper has by the record nothing moves but the fate.
  const withAnother = (owner: string): boolean => change === 'stolen' && model.isKeeper(holder) && holder !== owner;
  const owners = model.keepersOf(by).filter((keeper) => animal.open.has(`owner ${keeper}`));
  const moves =
    to === 'alive' ? elsewhere : holder !== holderAfter(to) && (change !== 'stolen' || !owners.every(withAnother));
  if (on > TODAY || (moves && dayFault(animal, on) !== null)) return no('*');
  return yes(([keeper = may.keeper]) => {
    if (change === 'stolen') animal.reported = true;
    else if (change !== 'seized' && change !== 'surrendered') animal.reported = false;
    if (to !== 'alive') return withAnother(keeper) ? void (animal.fate = to) : void loseTo(animal, to, on);
    animal.fate = to;
    if (!moves) return;
    close(animal, on, 'found');
    begin(animal, keeper, on);
    for (const relation of [...animal.open]) {
      const [how, other = ''] = relation.split(' ');
      if (how !== 'holder' || other === keeper) continue;
      animal.open.delete(relation);
      animal.past.add(other);
    }
  });
}

function holderAfter(fate: string): string {
  return fate === 'seized' || fate === 'surrendered' ? 'authority' : 'unknown';
}

function merge(model: Model, { by, animal: mergeId, into: keepId }: Extract<Command, { do: 'merge' }>): Forecast {
  const [keep, away] = [model.animals.get(keepId), model.animals.get(mergeId)];
  for (const side of [keep, away]) {
    const may = model.authority(by, side);
    if ('refused' in may) return no(may.refused);
  }
  if (keep === undefined || away === undefined) return no('NOT_FOUND');
  const impossible =
    held(keep) === undefined ||
    held(away) === undefined ||
    keep === away ||
    owned(keep).disputed ||
    owned(away).disputed ||
    !sameOwners(keep, away) ||
    keep.kind === 'lot' ||
    away.kind === 'lot' ||
    model.hasMerged(mergeId) ||
    model.openItem(keepId) !== null ||
    model.openItem(mergeId) !== null ||
    (away.quarantine !== null && away.quarantine !== keep.quarantine) ||
    unpicked(model, keep) !== unpicked(model, away) ||
    (keep.born !== null && away.born !== null && keep.born !== away.born) ||
    model.inLine(keepId, mergeId) ||
    (keep.dam !== null && away.dam !== null && keep.dam !== away.dam);
  if (impossible) return no('*');
  return yes(() => {
    close(away, TODAY, 'merged');
    away.mergedInto = keepId;
  });
}

function undoMerge(model: Model, { by, animal: id }: Extract<Command, { do: 'undoMerge' }>): Forecast {
  const merged = model.animals.get(id);
  const keep = model.animals.get(merged?.mergedInto ?? '');
  if (merged === undefined || keep === undefined) return no(model.sees(by, merged) ? 'NOT_MERGED' : 'NOT_FOUND');
  const may = model.authority(by, keep, false);
  if ('refused' in may) return no(may.refused);
  return yes(() => {
    const last = merged.custody.at(-1);
    if (last !== undefined) Object.assign(last, { to: null, left: null });
    merged.mergedInto = null;
  });
}

function people(model: Model, command: Extract<Command, { do: 'invite' | 'role' }>): Forecast {
  const { by, keeper, person } = command;
  const roles = model.roles.get(keeper) ?? new Map<string, Role>();
  const mine = roles.get(by);
  if (mine === undefined) return no('NOT_FOUND');
  const role = command.do === 'invite' ? 'helper' : command.role;
  const leaves = command.do === 'role' && person === by && role === null;
  if (mine !== 'owner' && !leaves) return no('FORBIDDEN');
  if (command.do === 'invite') {
    // An invitation is a write of its own, whatever becomes of it.
    if (roles.has(person)) return { ...no('ALREADY_MEMBER'), entries: 1 };
    return yes(() => void roles.set(person, 'helper'), [], 2);
  }
  if (!roles.has(person)) return no('NOT_FOUND');
  const owners = [...roles].filter(([id, each]) => each === 'owner' && id !== person);
  if (roles.get(person) === 'owner' && role !== 'owner' && owners.length === 0) return no('LAST_OWNER');
  if (roles.get(person) === role) return no('ROLE_ALREADY');
  return yes(() => (role === null ? void roles.delete(person) : void roles.set(person, role)));
}
