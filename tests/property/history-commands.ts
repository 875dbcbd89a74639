import fc from 'fast-check';
import { makeSpokenCode } from '../../libs/transfer/hand-over/spoken-code.core.js';
import { NO_ID } from '../../libs/kernel/index.js';
import { changeKinds } from './change-commands.js';
import { codeKinds } from './code-commands.js';
import { loanKinds } from './loan-commands.js';
import { guardKinds } from './guard-commands.js';
import { eggKinds, eggsAsked, eggsTold } from './egg-commands.js';
import { eggSince } from './clutch.js';
import { type LoanSide, type Model, owned, type Part, type Told } from './history-model.js';
import {
  accountOf,
  aDay,
  animalOf,
  few,
  inTime,
  keeperOf,
  lotOr,
  NOBODY,
  number,
  ofSide,
  pick,
  some,
  Step,
  step,
  transferIn,
  whoHas,
} from './history-drafts.js';
import { type Fate } from './history-rules.js';
import { titleKinds } from './title-commands.js';
import { type TransferCommand } from './transfer-rules.js';

const early = fc.constantFrom(
  ...Array<string>(12).fill('2026-06-01'),
  '2026-05-20',
  '2026-06-03',
  '2026-06-05',
  '2026-06-12',
);
const STATES = ['well', 'ill', 'dead', 'missing', 'not_as_described', 'refused'] as const;

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

/** Some of a lot are lost or found, or it is counted anew. */
export const counted = step(
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
      count: how === 'lose' ? some(model, animal, count, n, cause === 'died' && n % 3 === 0 ? 0 : 1) : count,
      on: inTime(model, animal, on, n),
    };
    return { do: how, animal, cause, by: whoHas(model, cast, animal, n), ...part };
  },
);

export const lots = [
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
  counted,
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
    // How the living are gone is corrected with the same act, and not drawn here.
    const others = [...model.animals.values()].filter(({ fate }) => fate === 'alive');
    const animal = pick(dead, n)?.id ?? pick(others, n)?.id ?? NO_ID;
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
    // Who acts for a minor's keeper is not drawn here.
    const keeper = keeperOf(cast, n) === cast.minor ? keeperOf(cast, n + 1) : keeperOf(cast, n);
    return { do: 'invite', keeper, person: accountOf(cast, 3), by: accountOf(cast, n % 5 === 0 ? n + 1 : n % 3) };
  }),
  step(fc.record({ n: number, role: fc.constantFrom('owner', 'helper', null, null) }), ({ n, role }, model, cast) => {
    const keeper = keeperOf(cast, n) === cast.minor ? keeperOf(cast, n + 1) : keeperOf(cast, n);
    const person = pick([...(model.roles.get(keeper)?.keys() ?? [])], n) ?? accountOf(cast, n);
    return { do: 'role', keeper, person, role, by: n % 4 === 0 ? person : accountOf(cast, n % 3) };
  }),
] as const;

type Terms = Pick<Extract<TransferCommand, { do: 'offer' }>, 'kind' | 'title' | 'price' | 'dueBack' | 'loan'> & {
  readonly share: Part | null;
};
const RETURN: Terms = { kind: 'loan_return', title: null, price: null, dueBack: null, loan: null, share: null };
const GIFT: Terms = { ...RETURN, kind: 'gift' };
const SALE: Terms = { ...RETURN, kind: 'sale', price: 100 };
const LOAN: Terms = { ...RETURN, kind: 'breeding_loan', dueBack: '2026-09-01' };
const turns = (first: LoanSide, odd: LoanSide | 'alternates'): Terms => ({
  ...LOAN,
  loan: { recallDays: 14, split: { lender: 1, of: 2, first, odd } },
});
/** What is agreed with an offer: mostly terms that fit together. */
const terms = fc.constantFrom<Terms>(
  GIFT,
  GIFT,
  { ...GIFT, share: { parts: 1, of: 2 } },
  { ...GIFT, share: { parts: 1, of: 3 } },
  SALE,
  { ...SALE, title: 'when_paid' },
  { ...SALE, title: 'when_paid' },
  { ...SALE, title: 'when_paid', share: { parts: 1, of: 2 } },
  LOAN,
  { ...LOAN, loan: { recallDays: 14, split: null } },
  turns('lender', 'alternates'),
  turns('borrower', 'alternates'),
  turns('lender', 'borrower'),
  turns('borrower', 'borrower'),
  { ...LOAN, loan: { recallDays: 0, split: { lender: 1, of: 3 } } },
  { ...LOAN, loan: { recallDays: null, split: { lender: 1, of: 1 } } },
  RETURN,
  { ...GIFT, price: 100 },
  { ...SALE, title: 'when_paid', price: null },
  { ...SALE, title: 'stays' },
  { ...RETURN, kind: 'breeding_loan' },
  { ...RETURN, kind: 'breeding_loan', dueBack: '2026-06-01' },
  { ...RETURN, share: { parts: 1, of: 2 } },
);

const offer = step(
  fc.record({
    n: number,
    to: fc.oneof({ weight: 3, arbitrary: number }, { weight: 1, arbitrary: fc.constant(null) }),
    more: fc.array(fc.tuple(number, fc.option(few)), { maxLength: 2 }),
    count: fc.option(few),
    splitOn: aDay,
    answerBy: fc.option(fc.integer({ min: 9, max: 14 })),
    terms,
    eggs: fc.option(eggsAsked, { freq: 1 }),
  }),
  ({ n, to, more, count, splitOn, answerBy, terms: drawn, eggs: asked }, model, cast) => {
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
      return [{ animal: id, count: isLot && part !== null ? some(model, id, part, n) : null, share: drawn.share }];
    });
    const owners = animal === undefined ? [] : [...owned(animal).shares.keys()];
    // What somebody else owns is mostly taken back to an owner.
    const eggs = asked?.(model, from) ?? [];
    const back = !owners.includes(from) && n % 4 !== 3 && eggs.length === 0;
    const { kind, title, price, dueBack, loan } = back ? RETURN : eggs.length > 0 && n % 5 !== 4 ? GIFT : drawn;
    // Eggs mostly go alone.
    const alone = eggs.length > 0 && n % 3 !== 2;
    const others = (back ? owners : cast.keepers).filter((keeper) => keeper !== from || n % 11 === 0);
    return {
      do: 'offer',
      kind,
      title,
      price,
      dueBack,
      loan,
      by: whoHas(model, cast, first, n),
      from,
      to: to === null && (!back || n % 9 === 8) ? null : (pick(others, to ?? n) ?? NOBODY),
      items: alone ? [] : back ? items.map((item) => ({ ...item, share: null })) : items,
      eggs,
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
  const eggs = model.transfers.get(transfer)?.eggs ?? [];
  const had = eggs.flatMap(({ clutch, number: egg }) => {
    const found = model.clutches.get(clutch);
    return found === undefined ? [] : [eggSince(found, egg)];
  });
  const late = n % 6 === 5 ? on : ([on, ...had].toSorted().at(-1) ?? on);
  return { do: 'send', transfer, on: inTime(model, first, late, n), by: ofSide(model, cast, transfer, true, n) };
});

const receive = step(
  fc.record({
    n: number,
    on: aDay,
    states: fc.array(fc.constantFrom(...STATES, 'well' as const), { minLength: 1, maxLength: 5 }),
    named: fc.array(fc.boolean(), { minLength: 3, maxLength: 3 }),
    more: fc.boolean(),
    slip: number,
    eggs: eggsTold,
  }),
  ({ n, on, states, named, more, slip, eggs }, model, cast) => {
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
    const told = eggs(model.transfers.get(transfer), more);
    return { do: 'receive', transfer, on: late, more, items, eggs: told, by: ofSide(model, cast, transfer, false, n) };
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
    const { items = [], eggs = [] } = model.transfers.get(transfer) ?? {};
    const egg = m % 2 === 0 || items.length === 0 ? pick(eggs, m) : undefined;
    const animals = egg === undefined ? [pick(items, m)?.animalId ?? NOBODY] : [];
    const left = egg === undefined ? [] : [{ clutch: egg.clutch, numbers: [egg.number] }];
    return { do: 'leaveOut', transfer, animals, eggs: left, by: ofSide(model, cast, transfer, true, n) };
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
  ...lots,
  ...fates,
  ...merges,
  ...people,
  offer,
  offer,
  offer,
  ...Array<typeof advance>(24).fill(advance),
  simple('accept', 'offered', false),
  simple('decline', 'offered', false),
  simple('withdraw', 'offered', true),
  simple('cancel', 'accepted', true),
  send,
  receive,
  ...ends,
  ...titleKinds,
  ...eggKinds,
  ...codeKinds,
  ...guardKinds,
  ...loanKinds,
  ...changeKinds,
];
