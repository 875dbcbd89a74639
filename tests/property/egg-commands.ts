import fc from 'fast-check';
import { type Clutch, eggHolder } from './clutch.js';
import { type EggEventKind, type EggsAsked, type EggsTold, isPendingEgg } from './egg-rules.js';
import { type Model, type Transfer } from './history-model.js';
import { accountOf, aDay, animalOf, NOBODY, number, pick, Step, step, whoHas } from './history-drafts.js';
import { type Cast } from './history-world.js';

/** Mostly somebody who has eggs of a clutch. */
function whoHasEggs(model: Model, cast: Cast, clutch: Clutch | undefined, egg: number, n: number): string {
  const holder = clutch === undefined ? '' : eggHolder(clutch, egg);
  const mine = cast.accounts.filter((account) => model.acts(account, holder));
  return (n % 7 === 6 ? undefined : pick(mine, n)) ?? accountOf(cast, n);
}

/** The egg after this one that has not ended, as far as anybody said; now and then one that there is not. */
function eggOf(clutch: Clutch | undefined, n: number): number {
  if (clutch === undefined || n % 23 === 22) return 9;
  const ended = new Set(
    clutch.events.filter(({ kind }) => !['candled', 'incubated'].includes(kind)).map(({ egg }) => egg),
  );
  const all = Array.from({ length: clutch.count }, (_, i) => i + 1);
  return (
    (n % 6 === 5
      ? undefined
      : pick(
          all.filter((egg) => !ended.has(egg)),
          n,
        )) ??
    pick(all, n) ??
    1
  );
}

const clutchOf = (model: Model, n: number): Clutch | undefined => pick([...model.clutches.values()], n);

const lay = step(
  fc.record({ n: number, laid: aDay, count: fc.integer({ min: 1, max: 4 }) }),
  ({ n, laid: day, count }, model, cast) => {
    const single = [...model.animals.values()].filter(({ kind }) => kind === 'individual');
    const lent = single.filter(({ lent: loans }) => loans.size > 0);
    const dam =
      (n % 11 === 10 ? undefined : pick(n % 2 === 0 && lent.length > 0 ? lent : single, n)?.id) ?? animalOf(model, n);
    const from = model.animals.get(dam)?.custody.at(-1)?.from ?? day;
    const laid = n % 4 === 0 && day < from ? from : day;
    return { do: 'lay', dam, laid, count, separate: n % 3 === 0, by: whoHas(model, cast, dam, n) };
  },
);

const tend = step(
  fc.record({
    n: number,
    m: number,
    all: fc.constantFrom(false, false, false, true),
    kind: fc.constantFrom<EggEventKind>(
      'candled',
      'candled',
      'incubated',
      'failed',
      'infertile',
      'fate_unknown',
      'hatched',
    ),
    on: aDay,
  }),
  ({ n, m, all, kind, on }, model, cast) => {
    const clutch = clutchOf(model, n);
    const egg = eggOf(clutch, m);
    const eggs = all ? null : m % 4 === 3 ? [egg, (egg % (clutch?.count ?? 1)) + 1] : [egg];
    const by = whoHasEggs(model, cast, clutch, egg, n);
    return { do: 'tend', clutch: clutch?.id ?? NOBODY, eggs: eggs === null ? null : [...new Set(eggs)], kind, on, by };
  },
);

const hatch = step(
  fc.record({
    n: number,
    m: number,
    on: aDay,
    young: fc.array(
      fc.record({
        named: fc.constantFrom(true, true, true, false),
        count: fc.constantFrom(1, 1, 1, 2, 3),
        skip: fc.nat(2),
      }),
      { minLength: 1, maxLength: 3 },
    ),
  }),
  ({ n, m, on, young }, model, cast) => {
    const clutch = clutchOf(model, n);
    const first = eggOf(clutch, m);
    const made = young.map(({ named, count, skip }) => {
      // A lot names no egg.
      return {
        egg: named && count === 1 ? ((first - 1 + skip) % Math.max(clutch?.count ?? 1, first)) + 1 : null,
        count,
      };
    });
    return {
      do: 'hatch',
      clutch: clutch?.id ?? NOBODY,
      young: made,
      on,
      by: whoHasEggs(model, cast, clutch, first, m),
    };
  },
);

/** The next thing with eggs: a clutch where there is none, something told of it, young. */
const brood = fc.tuple(number, lay, tend, hatch).map(([n, lays, tends, hatches]) => {
  const next = (model: Model): Step =>
    model.clutches.size === 0 || n % 5 === 0 ? lays : n % 2 === 0 ? tends : hatches;
  return new Step((model, cast) => next(model).drafted(model, cast));
});

/** Eggs that go along with an offer of a keeper: mostly such as the keeper has. */
export const eggsAsked = fc
  .record({ n: number, how: fc.constantFrom('named', 'named', 'two', 'count', 'all'), second: fc.boolean() })
  .map(({ n, how, second }) => (model: Model, keeper: string): EggsAsked[] => {
    const all = [...model.clutches.values()];
    const has = (clutch: Clutch): number[] =>
      Array.from({ length: clutch.count }, (_, i) => i + 1).filter((egg) => eggHolder(clutch, egg) === keeper);
    const own = all.filter((clutch) => has(clutch).length > 0);
    const first = n % 9 === 8 ? n : own.length === 0 ? null : all.indexOf(own[n % own.length] ?? (all[0] as Clutch));
    if (first === null || all.length === 0) return [];
    return [...new Set([first, ...(second ? [first + 1] : [])].map((i) => all[i % all.length]))].flatMap((clutch) => {
      if (clutch === undefined) return [];
      const eggs = has(clutch);
      const named = [
        ...new Set([pick(eggs, n) ?? eggOf(clutch, n), ...(how === 'two' ? [pick(eggs, n + 1) ?? 1] : [])]),
      ];
      const numbers = how === 'count' || how === 'all' ? null : named;
      return [{ clutch: clutch.id, numbers, count: how === 'count' ? (n % 3) + 1 : null }];
    });
  });

const STATES = ['well', 'well', 'ill', 'dead', 'missing', 'not_as_described', 'refused'] as const;
/** What is said of the eggs of a transfer: mostly of all that are on their way, or (`some`) of the first of them. */
export const eggsTold = fc
  .record({ states: fc.array(fc.constantFrom(...STATES), { minLength: 1, maxLength: 3 }), slip: number })
  .map(({ states, slip }) => (transfer: Transfer | undefined, some: boolean): EggsTold[] => {
    const pending = (transfer?.eggs ?? []).filter((egg) => slip % 11 === 10 || isPendingEgg(egg));
    const told = pending.map(({ clutch, number: egg }, i) => ({
      clutch,
      numbers: [egg],
      state: pick(states, i) ?? 'well',
    }));
    return some ? told.slice(0, slip % (told.length + 1)) : slip % 13 === 12 ? told.slice(1) : told;
  });

/** Commands about eggs. */
export const eggKinds = [...Array<typeof brood>(9).fill(brood), lay, tend, hatch];
