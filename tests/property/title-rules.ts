import { guardianFault } from './guard-rules.js';
import { type Forecast, no, yes } from './forecast.js';
import {
  type Animal,
  type Claim,
  type Item,
  held,
  type Model,
  owned,
  type Part,
  type Shares,
  TODAY,
  type Transfer,
} from './history-model.js';

/** A command about property and payment. */
export type TitleCommand = { readonly by: string } & (
  | { readonly do: 'declare'; transfer: string; minor: number; on: string }
  | { readonly do: 'confirm' | 'question'; payment: string }
  | { readonly do: 'claim'; animal: string; keeper: string; share: Part; since: string }
  | { readonly do: 'propose'; claim: string; shares: readonly { party: number; parts: number }[] }
  | { readonly do: 'agree'; claim: string; proposal: number }
  | { readonly do: 'reply' | 'withdrawClaim'; claim: string }
);

/** The owners once all the giver owns, or a part of the whole, is the receiver's; null when the giver owns less than that. */
export function after(shares: Shares, giver: string, receiver: string, part: Part | null): Shares | null {
  if (part !== null) return afterPart(shares, giver, receiver, part);
  const moved = (shares.get(giver) ?? 0) + (shares.get(receiver) ?? 0);
  const left = [...shares].filter(([owner]) => owner !== giver && owner !== receiver);
  return new Map(moved === 0 ? left : [...left, [receiver, moved]]);
}

export function afterPart(shares: Shares, giver: string, receiver: string, { parts, of }: Part): Shares | null {
  const whole = [...shares.values()].reduce((sum, each) => sum + each, 0);
  const made = new Map([...shares].map(([owner, each]) => [owner, each * of]));
  const left = (made.get(giver) ?? 0) - parts * whole;
  if (left < 0) return null;
  made.set(receiver, (made.get(receiver) ?? 0) + parts * whole);
  if (left === 0) made.delete(giver);
  else made.set(giver, left);
  return made;
}

/** Records whose property waits for the price of a transfer, with the item each came by. */
export function waiting(model: Model, transfer: Transfer): { item: Item; animal: Animal }[] {
  return transfer.items
    .filter(({ due }) => due)
    .flatMap((item) => {
      const first = model.animals.get(item.animalId);
      const records = first === undefined ? [] : [first, ...model.partsOf(first.id, transfer.to)];
      const gone = (animal: Animal): boolean => {
        const holder = held(animal)?.holder ?? '';
        return model.isKeeper(holder) && holder !== transfer.to;
      };
      return records.filter((animal) => !gone(animal)).map((animal) => ({ item, animal }));
    });
}

/** What should become of a command about property and payment. */
export function forecastTitle(model: Model, command: TitleCommand): Forecast {
  switch (command.do) {
    case 'declare':
      return declare(model, command);
    case 'confirm':
    case 'question':
      return answer(model, command);
    case 'claim':
      return claim(model, command);
    default:
      return ofClaim(model, command);
  }
}

function isParty(model: Model, by: string, transfer: Transfer): boolean {
  return model.acts(by, transfer.from) || (!transfer.outside && model.acts(by, transfer.to));
}

function awaits({ title, paidUp, state, items }: Transfer): boolean {
  if (title !== 'when_paid' || paidUp) return false;
  return state === 'accepted' || state === 'sent' || (state === 'received' && items.some(({ due }) => due));
}

const sum = ({ payments }: Transfer, ...states: string[]): number =>
  payments.filter(({ state }) => states.includes(state)).reduce((total, { minor }) => total + minor, 0);

function declare(model: Model, { by, transfer: id, minor, on }: Extract<TitleCommand, { do: 'declare' }>): Forecast {
  const transfer = model.transfers.get(id);
  if (transfer === undefined || !isParty(model, by, transfer)) return no('NOT_FOUND');
  if (!model.heads(by, transfer.to)) return no('FORBIDDEN');
  if (!awaits(transfer)) return no('PAYMENT_NOT_AWAITED');
  if (on > TODAY) return no('PAYMENT_IN_FUTURE');
  if (minor > transfer.price - sum(transfer, 'declared', 'confirmed')) return no('PAYMENT_TOO_MUCH');
  return yes(([payment = '']) => void transfer.payments.push({ id: payment, minor, state: 'declared' }));
}

function answer(
  model: Model,
  { by, payment: id, do: what }: Extract<TitleCommand, { do: 'confirm' | 'question' }>,
): Forecast {
  const transfer = [...model.transfers.values()].find(({ payments }) => payments.some((each) => each.id === id));
  const payment = transfer?.payments.find((each) => each.id === id);
  if (transfer === undefined || payment === undefined || !isParty(model, by, transfer)) return no('NOT_FOUND');
  if (!model.heads(by, transfer.from)) return no('FORBIDDEN');
  if (payment.state === 'confirmed' || (what === 'question' && payment.state !== 'declared'))
    return no('PAYMENT_ANSWERED');
  if (what === 'question') return yes(() => void (payment.state = 'questioned'));
  if (!awaits(transfer)) return no('PAYMENT_NOT_AWAITED');
  const counted = sum(transfer, 'declared', 'confirmed') - (payment.state === 'declared' ? payment.minor : 0);
  if (payment.minor > transfer.price - counted) return no('PAYMENT_TOO_MUCH');
  if (sum(transfer, 'confirmed') + payment.minor < transfer.price) return yes(() => void (payment.state = 'confirmed'));
  const records = waiting(model, transfer).map(({ item, animal }) => {
    return { item, animal, shares: after(owned(animal).shares, transfer.from, transfer.to, item.share) };
  });
  if (records.some(({ animal }) => owned(animal).disputed)) return no('TRANSFER_OWNER_DISPUTED');
  if (records.some(({ shares }) => shares === null)) return no('SHARE_TOO_LARGE');
  return yes(() => {
    payment.state = 'confirmed';
    transfer.paidUp = true;
    for (const { item, animal, shares } of records) {
      model.own(animal, shares ?? new Map(), TODAY);
      item.due = false;
    }
  });
}

/** Nothing in the way, the one thing that is, or several of which any may be named. */
function unless(...faults: (string | false)[]): Forecast | null {
  const found = faults.filter((fault) => fault !== false);
  return found.length === 0 ? null : no(found.length === 1 ? (found[0] ?? '*') : '*');
}

function claim(
  model: Model,
  { by, animal: id, keeper, share, since }: Extract<TitleCommand, { do: 'claim' }>,
): Forecast {
  if (!model.acts(by, keeper)) return no('NOT_FOUND');
  if (!model.heads(by, keeper)) return no('FORBIDDEN');
  const guardian = guardianFault(model, by, keeper);
  if (guardian !== null) return no(guardian);
  const animal = model.animals.get(id);
  if (animal === undefined) return no('NOT_FOUND');
  const transfers = [...model.transfers.values()].filter(({ items }) => items.some(({ animalId }) => animalId === id));
  const took = transfers.some(({ accepted, from, to }) => accepted && (from === keeper || to === keeper));
  const had = animal.past.has(keeper) || ['holder', 'owner'].some((how) => animal.open.has(`${how} ${keeper}`));
  if (!took && !had) return no(model.sees(by, animal) ? 'FORBIDDEN' : 'NOT_FOUND');
  const { shares, disputed } = owned(animal);
  const whole = [...shares.values()].reduce((total, parts) => total + parts, 0);
  const others = [...shares.keys()].filter((owner) => owner !== keeper);
  const before = [...model.claims.values()].some(
    (each) =>
      each.animal === id &&
      each.claimant === keeper &&
      each.ended !== null &&
      !transfers.some(({ received }) => received !== null && received > (each.ended ?? 0)),
  );
  // Whoever neither has nor owns it today hears the cause only where it takes part in it.
  const today = ['holder', 'owner'].some((how) => animal.open.has(`${how} ${keeper}`));
  const told = (known: boolean, rule: string): string => (today || known ? rule : 'CLAIM_NOT_NOW');
  const way = model.openItem(id)?.transfer;
  const ofOpenClaim = [...model.claims.values()].some(
    (each) => each.animal === id && each.ended === null && each.parties.some(({ owner }) => owner === keeper),
  );
  const fault = unless(
    since > TODAY && 'CLAIM_IN_FUTURE',
    disputed && told(ofOpenClaim, 'CLAIM_OPEN'),
    way?.state === 'sent' && told(way.from === keeper || way.to === keeper, 'CLAIM_ON_THE_WAY'),
    before && told(false, 'CLAIM_MADE_BEFORE'),
    share.parts * whole <= (shares.get(keeper) ?? 0) * share.of && 'CLAIM_ON_RECORD',
    !others.some((owner) => model.isKeeper(owner)) && told(false, 'CLAIM_UNANSWERABLE'),
  );
  if (fault !== null) return fault;
  return yes(([claimId = '', ...owners]) => {
    if (owners.toSorted().join() !== others.toSorted().join()) throw new Error('The parties are not the other owners.');
    const parties = [keeper, ...owners].map((owner) => {
      return { owner, recorded: shares.get(owner) ?? 0, proposed: 0, agreed: false, replied: false };
    });
    model.claims.set(claimId, { id: claimId, animal: id, claimant: keeper, parties, proposal: 0, ended: null });
    model.own(animal, shares, TODAY, true);
  });
}

function ofClaim(
  model: Model,
  command: Extract<TitleCommand, { do: 'propose' | 'agree' | 'reply' | 'withdrawClaim' }>,
): Forecast {
  const open = model.claims.get(command.claim);
  const animal = model.animals.get(open?.animal ?? '');
  const mine = open?.parties.filter(({ owner }) => model.heads(command.by, owner)) ?? [];
  if (open === undefined || animal === undefined || mine.length === 0) return no('NOT_FOUND');
  if (mine.some(({ owner }) => guardianFault(model, command.by, owner) !== null)) return no('GUARDIAN_SPEAKS');
  const isClaimant = mine.some((party) => party === open.parties[0]);
  if (command.do === 'withdrawClaim' && !isClaimant) return no('FORBIDDEN');
  if (command.do === 'reply' && isClaimant && mine.length === 1) return no('FORBIDDEN');
  if (open.ended !== null) return no('CLAIM_ENDED');
  const end = (shares: Shares): void => {
    open.ended = model.tick();
    model.own(animal, shares, TODAY);
  };
  switch (command.do) {
    case 'withdrawClaim':
      return yes(() => end(owned(animal).shares));
    case 'reply': {
      const party = mine.find((each) => each !== open.parties[0] && !each.replied);
      return party === undefined ? no('CLAIM_REPLIED') : yes(() => void (party.replied = true));
    }
    case 'propose':
      return propose(model, open, mine, command.shares);
    case 'agree':
      if (open.proposal === 0 || open.proposal !== command.proposal) return no('CLAIM_PROPOSAL_CHANGED');
      return yes(() => {
        for (const party of mine) party.agreed = true;
        if (!open.parties.every(({ owner, agreed }) => agreed || !model.isKeeper(owner))) return;
        const shares = new Map<string, number>();
        for (const { owner, proposed } of open.parties)
          if (proposed > 0) shares.set(owner, (shares.get(owner) ?? 0) + proposed);
        end(shares);
      });
  }
}

function propose(
  model: Model,
  open: Claim,
  mine: Claim['parties'],
  shares: readonly { party: number; parts: number }[],
): Forecast {
  const parts = new Map(shares.map((each) => [each.party, each.parts]));
  const named = shares.length === open.parties.length && open.parties.every((_, i) => parts.has(i + 1));
  const total = shares.reduce((all, each) => all + each.parts, 0);
  const whole = open.parties.reduce((all, { recorded }) => all + recorded, 0);
  // Somebody without an account cannot agree to own less.
  const robbed = open.parties.some(
    ({ owner, recorded }, i) => !model.isKeeper(owner) && (parts.get(i + 1) ?? 0) * whole < recorded * total,
  );
  if (!named || total === 0 || robbed) return no('CLAIM_SHARES_MISFIT');
  return yes(() => {
    open.proposal += 1;
    for (const [i, party] of open.parties.entries()) {
      party.proposed = parts.get(i + 1) ?? 0;
      party.agreed = mine.includes(party);
    }
  });
}
