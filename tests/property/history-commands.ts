import fc from 'fast-check';
import { makeSpokenCode } from '../../libs/transfer/core/spoken-code.core.js';
import { forecast, type Command, type Fate } from './history-rules.js';
import { type HistoryWorld, type Cast } from './history-world.js';
import { type Model, type Told } from './history-model.js';
import { forecastTransfer, type TransferCommand } from './transfer-rules.js';

/** A history that is under way. `writes` counts entries the ledger must have. */
export type Running = {
  readonly world: HistoryWorld;
  readonly cast: Cast;
  writes: number;
  done: number;
  refused: number;
};

/** A command before it is known which records there are: numbers stand for them. */
type Draft = (model: Model, cast: Cast) => Command | TransferCommand;

const NOBODY = '01900000-0000-7000-8000-000000000000';

/** Runs a draft on the model and on the program, and compares what became of it. */
class Step implements fc.AsyncCommand<Model, Running> {
  private told = '';

  constructor(private readonly draft: Draft) {}

  drafted(model: Model, cast: Cast): Command | TransferCommand {
    return this.draft(model, cast);
  }

  // Commands that must be refused are run as well.
  check(): boolean {
    return true;
  }

  async run(model: Model, running: Running): Promise<void> {
    const command = this.draft(model, running.cast);
    const expected = TRANSFER.has(command.do)
      ? forecastTransfer(model, command as TransferCommand)
      : forecast(model, command as Command);
    this.told = JSON.stringify(command);
    const outcome = await running.world.run(model, command);
    if ('refused' in outcome) {
      running.refused += 1;
      const allowed = 'refused' in expected ? [expected.refused] : expected.unless;
      const known = allowed.includes('*') || allowed.includes(outcome.refused);
      if (!known)
        throw new Error(`${this.told} was refused with ${outcome.refused}; expected: ${allowed.join() || 'done'}.`);
      if (outcome.refused === 'ALREADY_MEMBER') running.writes += 1;
      return;
    }
    if ('refused' in expected) throw new Error(`${this.told} was done; expected: refused with ${expected.refused}.`);
    running.done += 1;
    running.writes += expected.entries;
    expected.apply(outcome.made);
  }

  toString(): string {
    return this.told;
  }
}

const TRANSFER = new Set<string>([
  'offer',
  'accept',
  'decline',
  'withdraw',
  'cancel',
  'send',
  'receive',
  'fail',
  'leaveOut',
  'takeUp',
  'expire',
]);

// Without a bias to small numbers, which stand for the rarer choices.
const number = fc.noBias(fc.nat(1_000));
/** Days from 1 to 11 June; the tests happen on the tenth, and most of what is told happened late. */
const aDay = fc
  .oneof(
    { weight: 3, arbitrary: fc.integer({ min: 1, max: 11 }) },
    { weight: 5, arbitrary: fc.integer({ min: 7, max: 10 }) },
  )
  .map((n) => `2026-06-${String(n).padStart(2, '0')}`);
const early = fc.constantFrom(
  ...Array<string>(12).fill('2026-06-01'),
  '2026-05-20',
  '2026-06-03',
  '2026-06-05',
  '2026-06-12',
);
const few = fc.integer({ min: 1, max: 7 });
const STATES = ['well', 'ill', 'dead', 'missing', 'not_as_described', 'refused'] as const;

const pick = <T>(list: readonly T[], n: number): T | undefined => list[n % Math.max(list.length, 1)];
const animalOf = (model: Model, n: number): string => pick([...model.animals.keys()], n) ?? NOBODY;
const keeperOf = (cast: Cast, n: number): string => pick(cast.keepers, n) ?? NOBODY;
const accountOf = (cast: Cast, n: number): string => pick(cast.accounts, n) ?? NOBODY;

/** Mostly somebody who may: an account that acts for a keeper who has the record; now and then anybody. */
function whoHas(model: Model, cast: Cast, animalId: string, n: number): string {
  const animal = model.animals.get(animalId);
  const mine = cast.accounts.filter((account) =>
    model.keepersOf(account).some((keeper) => animal?.open.has(`holder ${keeper}`) === true),
  );
  return (n % 6 === 0 ? undefined : pick(mine, n)) ?? accountOf(cast, n);
}

/** Mostly somebody of the side whose step it is. */
function ofSide(model: Model, cast: Cast, transferId: string, giver: boolean, n: number): string {
  const transfer = model.transfers.get(transferId);
  const keeper = transfer === undefined ? '' : giver || transfer.outside ? transfer.from : transfer.to;
  const mine = cast.accounts.filter((account) => model.acts(account, keeper));
  return (n % 7 === 0 ? undefined : pick(mine, n)) ?? accountOf(cast, n);
}

/** Mostly a transfer in the state from which the step leads on. */
function transferIn(model: Model, state: string, n: number): string {
  const all = [...model.transfers.values()];
  const ready = all.filter((each) => each.state === state);
  return (n % 5 === 0 ? pick(all, n) : (pick(ready, n) ?? pick(all, n)))?.id ?? NOBODY;
}

/** Mostly a day on which whoever has the animal had it. */
function inTime(model: Model, animalId: string, on: string, n: number): string {
  const from = model.animals.get(animalId)?.custody.at(-1)?.from ?? on;
  return n % 6 === 5 || on >= from ? on : from;
}

/** Mostly a number that can be taken out of a lot: at most all of it, or all but `stays`. */
function some(model: Model, animalId: string, count: number, n: number, stays = 0): number {
  const there = (model.animals.get(animalId)?.count ?? 1) - stays;
  return n % 9 === 8 || there < 1 ? count : ((count - 1) % there) + 1;
}

function lotOr(model: Model, n: number): string {
  const lots = [...model.animals.values()].filter(({ kind, count }) => kind === 'lot' && count > 0);
  return (n % 8 === 0 ? undefined : pick(lots, n)?.id) ?? animalOf(model, n);
}

const step = <T>(
  arbitrary: fc.Arbitrary<T>,
  draft: (drawn: T, model: Model, cast: Cast) => Command | TransferCommand,
) => arbitrary.map((drawn) => new Step((model, cast) => draft(drawn, model, cast)));

const register = step(
  fc.record({
    n: number,
    kind: fc.constantFrom('individual', 'lot'),
    count: few,
    since: early,
    dam: fc.option(number),
  }),
  ({ n, kind, count, since, dam }, model, cast) => {
    const keeper = keeperOf(cast, n);
    const by = n % 9 === 0 ? accountOf(cast, n + 1) : accountOf(cast, n % cast.keepers.length);
    const seen = [...model.animals.values()].filter((each) => each.kind === 'individual' && model.sees(by, each));
    const mother = dam === null ? null : (pick(seen, dam)?.id ?? (dam % 5 === 0 ? animalOf(model, dam) : null));
    return { do: 'register', by, keeper, kind, count: kind === 'lot' ? count + 2 : 1, since, dam: mother };
  },
);

const lots = [
  step(fc.record({ n: number, count: few, on: aDay }), ({ n, count, on }, model, cast) => {
    const animal = lotOr(model, n);
    const part = { count: some(model, animal, count, n, 1), on: inTime(model, animal, on, n) };
    return { do: 'split', animal, by: whoHas(model, cast, animal, n), ...part };
  }),
  step(fc.record({ n: number, m: number, on: aDay }), ({ n, m, on }, model, cast) => {
    const [animal, into] = [lotOr(model, n), lotOr(model, m)];
    const late = inTime(model, into, inTime(model, animal, on, n), m);
    return { do: 'join', animal, into, on: late, by: whoHas(model, cast, animal, n + m) };
  }),
  step(fc.record({ n: number, count: fc.integer({ min: 1, max: 4 }), on: aDay }), ({ n, count, on }, model, cast) => {
    const animal = lotOr(model, n);
    const part = { count: some(model, animal, count, n), on: inTime(model, animal, on, n) };
    return { do: 'raise', animal, by: whoHas(model, cast, animal, n), ...part };
  }),
  step(
    fc.record({
      n: number,
      how: fc.constantFrom('lose', 'lose', 'find', 'recount'),
      cause: fc.constantFrom('died', 'missing', 'stolen', 'escaped'),
      count: few,
      on: aDay,
    }),
    ({ n, how, cause, count, on }, model, cast) => {
      const animal = lotOr(model, n);
      const part = {
        count: how === 'lose' ? some(model, animal, count, n, 1) : count,
        on: inTime(model, animal, on, n),
      };
      return { do: how, animal, cause, by: whoHas(model, cast, animal, n), ...part };
    },
  ),
] as const;

const fates = [
  step(fc.record({ n: number, count: few, on: aDay }), ({ n, count, on }, model, cast) => {
    const animal = animalOf(model, n);
    const isLot = model.animals.get(animal)?.kind === 'lot';
    const dead = isLot ? some(model, animal, count, n) : n % 9 === 1 ? 2 : null;
    return { do: 'die', animal, on: inTime(model, animal, on, n), count: dead, by: whoHas(model, cast, animal, n) };
  }),
  step(fc.record({ n: number, on: fc.option(aDay) }), ({ n, on }, model, cast) => {
    const dead = [...model.animals.values()].filter(({ fate }) => fate === 'dead');
    const animal = pick(dead, n)?.id ?? animalOf(model, n);
    return { do: 'correctDeath', animal, on, by: whoHas(model, cast, animal, n) };
  }),
  step(
    fc.record({
      n: number,
      on: aDay,
      change: fc.constantFrom<Fate>(
        'missing',
        'stolen',
        'escaped',
        'seized',
        'surrendered',
        'left_registry',
        'found',
        'found',
      ),
    }),
    ({ n, ...rest }, model, cast) => {
      const gone = [...model.animals.values()].filter(({ fate }) => fate !== 'alive' && fate !== 'dead');
      const animal = (rest.change === 'found' ? pick(gone, n)?.id : undefined) ?? animalOf(model, n);
      const on = inTime(model, animal, rest.on, n);
      return { do: 'fate', animal, by: whoHas(model, cast, animal, n), ...rest, on };
    },
  ),
] as const;

const merges = [
  step(fc.record({ n: number, m: number }), ({ n, m }, model, cast) => {
    const single = [...model.animals.values()].filter(({ kind }) => kind === 'individual');
    const animal = pick(single, n)?.id ?? NOBODY;
    const holder = model.animals.get(animal)?.custody.at(-1)?.holder;
    const beside = single.filter(
      ({ id, custody }) => m % 6 === 0 || (id !== animal && custody.at(-1)?.holder === holder),
    );
    const into = pick(beside, m)?.id ?? NOBODY;
    return { do: 'merge', animal, into, by: whoHas(model, cast, animal, n + m) };
  }),
  step(number, (n, model, cast) => {
    const merged = [...model.animals.values()].filter(({ mergedInto }) => mergedInto !== null);
    const animal = pick(merged, n)?.id ?? animalOf(model, n);
    return { do: 'undoMerge', animal, by: whoHas(model, cast, model.animals.get(animal)?.mergedInto ?? animal, n) };
  }),
] as const;

const people = [
  step(number, (n, _model, cast) => {
    const keeper = keeperOf(cast, n);
    return { do: 'invite', keeper, person: accountOf(cast, 3), by: accountOf(cast, n % 5 === 0 ? n + 1 : n % 3) };
  }),
  step(fc.record({ n: number, role: fc.constantFrom('owner', 'helper', null, null) }), ({ n, role }, model, cast) => {
    const keeper = keeperOf(cast, n);
    const person = pick([...(model.roles.get(keeper)?.keys() ?? [])], n) ?? accountOf(cast, n);
    return { do: 'role', keeper, person, role, by: n % 4 === 0 ? person : accountOf(cast, n % 3) };
  }),
] as const;

const offer = step(
  fc.record({
    n: number,
    to: fc.oneof({ weight: 3, arbitrary: number }, { weight: 1, arbitrary: fc.constant(null) }),
    more: fc.array(fc.tuple(number, fc.option(few)), { maxLength: 2 }),
    count: fc.option(few),
    splitOn: aDay,
    answerBy: fc.option(fc.integer({ min: 9, max: 14 })),
  }),
  ({ n, to, more, count, splitOn, answerBy }, model, cast) => {
    const ready = [...model.animals.values()].filter(({ id, fate, count: left }) => {
      return fate === 'alive' && left > 0 && model.openItem(id) === null;
    });
    const first = (n % 8 === 7 ? undefined : pick(ready, n)?.id) ?? animalOf(model, n);
    const animal = model.animals.get(first);
    const from = cast.keepers.find((keeper) => animal?.open.has(`holder ${keeper}`) === true) ?? keeperOf(cast, n);
    const beside = ready.filter(({ id, open }) => id !== first && open.has(`holder ${from}`));
    const named = [first, ...more.map(([m], i) => (m % 13 === 12 ? animalOf(model, m) : beside[(m % 3) + 3 * i]?.id))];
    const items = named.flatMap((id, i) => {
      const part = i === 0 ? count : (more[i - 1]?.[1] ?? null);
      if (id === undefined) return [];
      const isLot = model.animals.get(id)?.kind === 'lot';
      return [{ animal: id, count: isLot && part !== null ? some(model, id, part, n) : null }];
    });
    const others = cast.keepers.filter((keeper) => keeper !== from || n % 11 === 0);
    return {
      do: 'offer',
      by: whoHas(model, cast, first, n),
      from,
      to: to === null ? null : (pick(others, to) ?? NOBODY),
      items,
      splitOn: inTime(model, first, splitOn, n),
      answerBy: answerBy === null ? null : `2026-06-${String(answerBy).padStart(2, '0')}`,
    };
  },
);

const simple = (what: 'accept' | 'decline' | 'withdraw' | 'cancel', state: string, giver: boolean) =>
  step(number, (n, model, cast) => {
    const transfer = transferIn(model, state, n);
    return { do: what, transfer, by: ofSide(model, cast, transfer, giver, n) };
  });

const send = step(fc.record({ n: number, on: aDay }), ({ n, on }, model, cast) => {
  const transfer = transferIn(model, 'accepted', n);
  const first = model.transfers.get(transfer)?.items[0]?.animalId ?? '';
  return { do: 'send', transfer, on: inTime(model, first, on, n), by: ofSide(model, cast, transfer, true, n) };
});

const receive = step(
  fc.record({
    n: number,
    on: aDay,
    states: fc.array(fc.constantFrom(...STATES, 'well' as const), { minLength: 1, maxLength: 5 }),
    named: fc.array(fc.boolean(), { minLength: 3, maxLength: 3 }),
    more: fc.boolean(),
    slip: number,
  }),
  ({ n, on, states, named, more, slip }, model, cast) => {
    const transfer = transferIn(model, 'sent', n);
    const all = model.transfers.get(transfer)?.items ?? [];
    const items = all
      .filter((item, i) => (slip % 6 === 1 || (item.told === null && !item.notSent)) && (!more || named[i] !== false))
      .map(({ animalId, count }, i) => {
        const animal = model.animals.get(animalId);
        const there = animal?.fate === 'alive' && animal.count > 0 ? animal.count : count;
        return { animal: animalId, told: spread(there + (slip % 9 === 0 ? 1 : 0), states, i) };
      });
    const sent = model.transfers.get(transfer)?.sentOn ?? on;
    const late = on < sent && n % 6 !== 5 ? sent : on;
    return { do: 'receive', transfer, on: late, more, items, by: ofSide(model, cast, transfer, false, n) };
  },
);

/** The next step of an open transfer, whichever it is at; an offer where none is open. */
const advance = fc
  .tuple(number, offer, simple('accept', 'offered', false), send, receive)
  .map(([n, offers, accept, sends, receives]) => ({
    pickFor: (model: Model): Step => {
      const open = [...model.transfers.values()].filter(({ state }) => ['offered', 'accepted', 'sent'].includes(state));
      const state = pick(open, n)?.state;
      if (state === undefined) return offers;
      return state === 'sent' ? receives : state === 'accepted' ? sends : accept;
    },
  }))
  .map(({ pickFor }) => new Step((model, cast) => pickFor(model).drafted(model, cast)));

/** So many animals over the states in turn. */
function spread(count: number, states: readonly string[], offset: number): Told[] {
  const told = new Map<string, number>();
  for (let i = 0; i < count; i += 1) {
    const state = states[(i + offset) % states.length] ?? 'well';
    told.set(state, (told.get(state) ?? 0) + 1);
  }
  return [...told].map(([state, n]) => ({ state, count: n }));
}

const ends = [
  step(fc.record({ n: number, kind: fc.constantFrom('came_back', 'never_arrived') }), ({ n, kind }, model, cast) => {
    const transfer = transferIn(model, 'sent', n);
    return { do: 'fail', transfer, kind, by: ofSide(model, cast, transfer, n % 2 === 0, n) };
  }),
  step(fc.record({ n: number, m: number }), ({ n, m }, model, cast) => {
    const transfer = transferIn(model, 'sent', n);
    const ids = model.transfers.get(transfer)?.items.map(({ animalId }) => animalId) ?? [];
    return { do: 'leaveOut', transfer, animals: [pick(ids, m) ?? NOBODY], by: ofSide(model, cast, transfer, true, n) };
  }),
  step(fc.record({ n: number, m: number }), ({ n, m }, model, cast) => {
    const waiting = [...model.transfers.values()].filter(({ code }) => code !== null);
    const by = accountOf(cast, m);
    const keeper = pick(model.keepersOf(by), m) ?? keeperOf(cast, m);
    return { do: 'takeUp', code: pick(waiting, n)?.code ?? UNUSED, keeper, by };
  }),
  step(fc.integer({ min: 10, max: 15 }), (n) => ({ do: 'expire', day: `2026-06-${n}`, by: NOBODY })),
] as const;

let drawn = 0;
/** A code in its right form that nobody was given. */
const UNUSED = makeSpokenCode((below) => (drawn += 7) % below);

// A command that others add has its place here, its rule in history-rules or transfer-rules, its entry in ledger-replay.
export const commandKinds: fc.Arbitrary<Step>[] = [
  register,
  register,
  ...lots,
  ...fates,
  ...merges,
  ...people,
  offer,
  offer,
  offer,
  ...Array<typeof advance>(9).fill(advance),
  simple('accept', 'offered', false),
  simple('decline', 'offered', false),
  simple('withdraw', 'offered', true),
  simple('cancel', 'accepted', true),
  send,
  receive,
  ...ends,
];

/** What a history begins with, so that there is something to act on. */
export const registrations = fc.array(register, { minLength: 4, maxLength: 6 });
