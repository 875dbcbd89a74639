import fc from 'fast-check';
import { type Model, type Transfer } from './history-model.js';
import { accountOf, aDay, animalOf, keeperOf, NOBODY, number, pick, Step, step } from './history-drafts.js';
import { type Cast } from './history-world.js';

/** Mostly an owner of the keeper whose word it is. */
function ownerOf(model: Model, cast: Cast, keeper: string, n: number): string {
  const owners = cast.accounts.filter((account) => model.heads(account, keeper));
  return (n % 7 === 6 ? undefined : pick(owners, n)) ?? accountOf(cast, n);
}

/** Mostly a transfer whose price is not paid. */
function unpaid(model: Model, n: number): Transfer | undefined {
  const all = [...model.transfers.values()];
  const open = all.filter(
    ({ title, paidUp, state }) => title === 'when_paid' && !paidUp && ['accepted', 'sent', 'received'].includes(state),
  );
  return (n % 9 === 8 ? undefined : pick(open, n)) ?? pick(all, n);
}

const declare = step(
  fc.record({ n: number, minor: fc.constantFrom(100, 100, 60, 40), on: aDay }),
  ({ n, minor, on }, model, cast) => {
    const transfer = unpaid(model, n);
    const by = ownerOf(model, cast, transfer?.to ?? '', n);
    return { do: 'declare', transfer: transfer?.id ?? NOBODY, minor, on, by };
  },
);

const answer = (what: 'confirm' | 'question') =>
  step(fc.record({ n: number, m: number }), ({ n, m }, model, cast) => {
    const transfers = [...model.transfers.values()].filter(({ payments }) => payments.length > 0);
    const asked = transfers.filter(({ payments }) => payments.some(({ state }) => state === 'declared'));
    const transfer = (n % 5 === 4 ? undefined : pick(asked, n)) ?? pick(transfers, n);
    const declared = transfer?.payments.filter(({ state }) => state === 'declared') ?? [];
    const payment = (m % 5 === 4 ? undefined : pick(declared, m)) ?? pick(transfer?.payments ?? [], m);
    return { do: what, payment: payment?.id ?? NOBODY, by: ownerOf(model, cast, transfer?.from ?? '', n) };
  });

const claim = step(
  fc.record({
    n: number,
    m: number,
    share: fc.constantFrom({ parts: 1, of: 1 }, { parts: 1, of: 2 }, { parts: 2, of: 3 }),
    since: aDay,
  }),
  ({ n, m, share, since }, model, cast) => {
    // Those who had to do with it and own less than all of it come first.
    const moved = [...model.animals.values()].filter(({ past, owners }) => past.size > 0 || owners.length > 1);
    const animal = (n % 6 === 5 ? undefined : pick(moved, n)?.id) ?? animalOf(model, n);
    const known = cast.keepers.filter((keeper) => model.animals.get(animal)?.past.has(keeper) === true);
    const keeper = (m % 5 === 4 ? undefined : pick(known, m)) ?? keeperOf(cast, m);
    return { do: 'claim', animal, keeper, share, since, by: ownerOf(model, cast, keeper, m) };
  },
);

/** Mostly a claim that is open, and mostly somebody who has a say in it. */
function sayIn(model: Model, cast: Cast, n: number, m: number, first = false) {
  const all = [...model.claims.values()];
  const open =
    (n % 6 === 5
      ? undefined
      : pick(
          all.filter(({ ended }) => ended === null),
          n,
        )) ?? pick(all, n);
  const waits = open?.parties.filter(({ agreed, owner }) => !agreed && model.isKeeper(owner)) ?? [];
  const party = first ? open?.parties[0] : (pick(waits, m) ?? open?.parties[0]);
  return { open, by: ownerOf(model, cast, party?.owner ?? '', m) };
}

const talks = [
  step(
    fc.record({ n: number, m: number, parts: fc.array(fc.nat(3), { minLength: 5, maxLength: 5 }) }),
    ({ n, m, parts }, model, cast) => {
      const { open, by } = sayIn(model, cast, n, m);
      const parties = open?.parties ?? [];
      const shares = parties.map((_, i) => ({ party: i + 1, parts: parts[i] ?? 0 }));
      return { do: 'propose', claim: open?.id ?? NOBODY, shares: m % 9 === 8 ? shares.slice(1) : shares, by };
    },
  ),
  step(fc.record({ n: number, m: number }), ({ n, m }, model, cast) => {
    const { open, by } = sayIn(model, cast, n, m);
    return {
      do: 'agree',
      claim: open?.id ?? NOBODY,
      proposal: Math.max(1, (open?.proposal ?? 1) - (m % 8 === 7 ? 1 : 0)),
      by,
    };
  }),
  step(fc.record({ n: number, m: number }), ({ n, m }, model, cast) => {
    const { open, by } = sayIn(model, cast, n, m);
    return { do: 'reply', claim: open?.id ?? NOBODY, by };
  }),
  step(fc.record({ n: number, m: number }), ({ n, m }, model, cast) => {
    const { open, by } = sayIn(model, cast, n, m, m % 3 !== 0);
    return { do: 'withdrawClaim', claim: open?.id ?? NOBODY, by };
  }),
] as const;

const [propose, agree, reply, withdraw] = talks;

/** The next step of a claim or of what is to be paid, whichever there is; a claim where nothing is open. */
const pursue = fc
  .tuple(number, claim, propose, agree, withdraw, declare, answer('confirm'))
  .map(([n, claims, proposes, agrees, withdraws, declares, confirms]) => {
    return new Step((model, cast) => {
      const open = [...model.claims.values()].filter(({ ended }) => ended === null);
      const unpaid = [...model.transfers.values()].filter(
        ({ title, paidUp, accepted, state }) =>
          title === 'when_paid' && !paidUp && accepted && (state === 'sent' || state === 'received'),
      );
      const asked = unpaid.some(({ payments }) => payments.some(({ state }) => state === 'declared'));
      const next: Step[] = [
        ...(open.length === 0 ? [claims] : []),
        ...(open.some(({ proposal }) => proposal > 0) ? [agrees, agrees, agrees, withdraws] : []),
        ...(open.some(({ proposal }) => proposal === 0) ? [proposes] : []),
        ...(asked ? [confirms, confirms] : unpaid.length > 0 ? [declares, declares] : []),
      ];
      return (pick(next, n) ?? claims).drafted(model, cast);
    });
  });

/** Commands about property and payment, the likely ones several times. */
export const titleKinds = [
  ...Array<typeof pursue>(8).fill(pursue),
  declare,
  declare,
  answer('confirm'),
  answer('confirm'),
  answer('confirm'),
  answer('question'),
  claim,
  propose,
  propose,
  agree,
  agree,
  reply,
  withdraw,
];
