import { type Forecast, no, yes } from './forecast.js';
import { splitOff, dieOf } from './history-rules.js';
import { unpicked } from './loan-rules.js';
import { awaited, guardianFault } from './guard-rules.js';
import {
  type Animal,
  begin,
  close,
  dayFault,
  held,
  type Item,
  type LoanSaid,
  owned,
  type Part,
  type Side,
  type Title,
  loseTo,
  type Model,
  type Told,
  TODAY,
  type Transfer,
} from './history-model.js';
import {
  askEggs,
  claimEggs,
  type EggsAsked,
  type EggsTold,
  isPendingEgg,
  land,
  landFault,
  sendEggsFault,
  toldEggs,
} from './egg-rules.js';
import { after, afterPart, waiting } from './title-rules.js';

/** A command of a transfer with the ids it is about. */
export type TransferCommand = { readonly by: string } & (
  | {
      readonly do: 'offer';
      from: string;
      /** Null: somebody without an account. */
      to: string | null;
      kind: 'gift' | 'sale' | 'breeding_loan' | 'loan_return';
      title: Title | null;
      price: number | null;
      dueBack: string | null;
      loan: LoanSaid | null;
      items: readonly { animal: string; count: number | null; share: Part | null }[];
      eggs: readonly EggsAsked[];
      splitOn: string;
      answerBy: string | null;
    }
  | { readonly do: 'accept' | 'decline' | 'withdraw' | 'cancel'; transfer: string }
  | { readonly do: 'send'; transfer: string; on: string }
  | {
      readonly do: 'receive';
      transfer: string;
      on: string;
      more: boolean;
      items: readonly Arrival[];
      eggs: readonly EggsTold[];
    }
  | { readonly do: 'fail'; transfer: string; kind: 'came_back' | 'never_arrived' }
  | {
      readonly do: 'leaveOut';
      transfer: string;
      animals: readonly string[];
      eggs: readonly { readonly clutch: string; readonly numbers: readonly number[] }[];
    }
  | { readonly do: 'takeUp'; code: string; keeper: string }
  | { readonly do: 'expire'; day: string }
);

/** What is said of one animal or lot when it arrives. */
export type Arrival = { readonly animal: string; readonly told: readonly Told[] };
/** What is said of a day's arrivals. */
export type Arrivals = {
  readonly on: string;
  readonly more: boolean;
  readonly items: readonly Arrival[];
  readonly eggs: readonly EggsTold[];
};

const ALIVE = ['well', 'ill', 'not_as_described'];

export function forecastTransfer(model: Model, command: TransferCommand): Forecast {
  if (command.do === 'offer') return offer(model, command);
  if (command.do === 'takeUp') return takeUp(model, command);
  if (command.do === 'expire') {
    const due = [...model.transfers.values()].filter(
      ({ state, answerBy }) => state === 'offered' && answerBy !== null && answerBy < command.day,
    );
    return yes(() => due.forEach((each) => end(model, each, 'expired')), [], due.length);
  }
  const transfer = model.transfers.get(command.transfer);
  if (transfer === undefined) return no('NOT_FOUND');
  const { by } = command;
  const gives = model.acts(by, transfer.from);
  const takes = !transfer.outside && model.acts(by, transfer.to);
  if (!gives && !takes) return no('NOT_FOUND');
  const forReceiver = takes || (transfer.outside && gives);
  const allowed = {
    accept: forReceiver,
    decline: forReceiver,
    receive: forReceiver,
    withdraw: gives,
    send: gives,
    leaveOut: gives,
    cancel: true,
    fail: true,
  };
  if (!allowed[command.do]) return no('FORBIDDEN');
  switch (command.do) {
    case 'accept':
      if (transfer.state !== 'offered') return no('TRANSFER_NOT_OFFERED');
      return yes(() => void Object.assign(transfer, { state: 'accepted', accepted: true }));
    case 'decline':
      if (transfer.state !== 'offered') return no('TRANSFER_NOT_DECLINABLE');
      return yes(() => end(model, transfer, 'declined'));
    case 'withdraw':
      if (transfer.state !== 'offered') return no('TRANSFER_NOT_WITHDRAWABLE');
      return yes(() => end(model, transfer, 'withdrawn'));
    case 'cancel':
      if (transfer.state !== 'accepted') return no('TRANSFER_NOT_CANCELLABLE');
      return yes(() => end(model, transfer, 'cancelled'));
    case 'send':
      return send(model, transfer, command.on);
    case 'fail':
      return fail(model, transfer, command.kind, gives, takes);
    case 'leaveOut':
      return leaveOut(model, transfer, command);
    case 'receive':
      if (transfer.state !== 'sent') return no('TRANSFER_NOT_SENT');
      return receive(model, transfer, command, transfer.sentOn ?? '');
  }
}

function end(model: Model, transfer: Transfer, state: string): void {
  transfer.state = state;
  for (const { animalId } of transfer.items) model.animals.get(animalId)?.open.delete(`receiver ${transfer.to}`);
}

/** Whether the giver's property goes with custody. */
function movesOnReceipt({ title, paidUp }: Transfer): boolean {
  return title === 'on_receipt' || (title === 'when_paid' && paidUp);
}

/** When property moves by the terms of an offer; null where they do not fit together. */
function titleOf({
  kind,
  title,
  price,
  dueBack,
  to,
  items,
  eggs,
}: Extract<TransferCommand, { do: 'offer' }>): Title | null {
  const lent = kind === 'breeding_loan' || kind === 'loan_return';
  const said = title ?? (lent ? 'stays' : 'on_receipt');
  if (lent !== (said === 'stays') || (said !== 'on_receipt' && (to === null || eggs.length > 0))) return null;
  if (lent && (price !== null || items.some(({ share }) => share !== null))) return null;
  if ((kind === 'breeding_loan') !== (dueBack !== null) || (dueBack ?? TODAY) < TODAY) return null;
  if (kind === 'gift' && price !== null) return null;
  return said === 'when_paid' && (price ?? 0) === 0 ? null : said;
}

function isAtHand(animal: Animal | undefined, keeper: string): boolean {
  return animal?.fate === 'alive' && animal.count > 0 && held(animal)?.holder === keeper;
}

function offer(model: Model, command: Extract<TransferCommand, { do: 'offer' }>): Forecast {
  const { by, from, to, items, splitOn, answerBy } = command;
  if (!model.acts(by, from)) return no('NOT_FOUND');
  if (items.some(({ animal }) => !model.sees(by, model.animals.get(animal)))) return no('NOT_FOUND');
  if (new Set(items.map(({ animal }) => animal)).size < items.length) return no('TRANSFER_ITEM_TWICE');
  const planned: { animal: Animal; part: boolean; count: number; share: Part | null }[] = [];
  for (const { animal: id, count, share } of items) {
    const animal = model.animals.get(id);
    if (animal === undefined || !isAtHand(animal, from)) return no('*');
    if (model.openItem(id) !== null) return no('*');
    const { shares, disputed } = owned(animal);
    const returns = command.kind === 'loan_return';
    if (disputed || (count ?? 0) > animal.count) return no('*');
    // Young of a loan that wait to be picked go home, and nowhere else.
    if (unpicked(model, animal) !== null && !returns) return no('*');
    if (returns ? !shares.has(to ?? '') : !shares.has(from)) return no('*');
    if (share !== null && afterPart(shares, from, to ?? 'outside', share) === null) return no('*');
    const part = count !== null && count < animal.count;
    if (part && dayFault(animal, splitOn) !== null) return no('*');
    planned.push({ animal, part, count: count ?? animal.count, share });
  }
  const eggs = askEggs(model, command);
  if ('refused' in eggs) return no(eggs.refused);
  const title = titleOf(command);
  if (title === null || to === from) return no('*');
  if (answerBy !== null && answerBy < TODAY) return no('*');
  // The registry gives the id of the transfer, of the outside party, the code, and the animals of the items.
  return yes(([id = '', outsideId = '', code = '', ...ids]) => {
    const made: Item[] = planned.map(({ animal, part, count, share }, i) => {
      const offered = part ? splitOff(model, animal, ids[i] ?? '', count, splitOn) : animal;
      if (to !== null) offered.open.add(`receiver ${to}`);
      return { animalId: offered.id, count, share, told: null, notSent: false, on: null, due: false };
    });
    const later = {
      sentOn: null,
      failure: null,
      codes: [],
      payments: [],
      signed: new Set<Side>(),
      accepted: false,
      paidUp: false,
    };
    const rest = { answerBy, items: made, eggs, ...later };
    const terms = { kind: command.kind, title, price: command.price ?? 0, received: null };
    const loan = { loan: command.loan, dueBack: command.dueBack, asks: [], clutches: [] };
    const outside = to === null;
    const receiver = {
      to: to ?? outsideId,
      outside,
      outsideId: outside ? outsideId : null,
      code: outside ? code : null,
    };
    model.transfers.set(id, { id, state: 'offered', from, ...receiver, ...rest, ...terms, ...loan });
  });
}

/** Items of which nothing is left with whoever was to pay for them wait for no payment any more. */
function endWaitingOfReturned(model: Model, buyer: string): void {
  for (const transfer of model.transfers.values()) {
    if (transfer.to !== buyer) continue;
    const left = new Set(waiting(model, transfer).map(({ item }) => item));
    for (const item of transfer.items) item.due &&= left.has(item);
  }
}

/** Which of several checks that block is named first is a matter of order. */
export function blockedBy(blocked: boolean, unsigned: boolean): string[] {
  return [...(blocked ? ['TRANSFER_CHECK_BLOCKS'] : []), ...(unsigned ? ['TRANSFER_COUNTERSIGNATURE_AWAITED'] : [])];
}

export function send(model: Model, transfer: Transfer, on: string): Forecast {
  if (transfer.state !== 'accepted') return no('TRANSFER_NOT_ACCEPTED');
  if (on > TODAY) return no('TRANSFER_SENT_IN_FUTURE');
  for (const { animalId, count } of transfer.items) {
    const animal = model.animals.get(animalId);
    if (animal === undefined || !isAtHand(animal, transfer.from) || animal.count !== count) return no('*');
    if (on < (held(animal)?.from ?? '')) return no('*');
  }
  const eggs = sendEggsFault(model, transfer, on);
  if (eggs !== null) return no(eggs);
  // What is checked before sending is looked at once all of it can be sent at all.
  const animals = transfer.items.flatMap(({ animalId }) => model.animals.get(animalId) ?? []);
  const blocked = animals.some((animal) => {
    const { shares, disputed } = owned(animal);
    return disputed || (transfer.kind !== 'loan_return' && !shares.has(transfer.from));
  });
  // No club policy speaks for somebody outside: then a quarantine that still runs blocks.
  const apart = transfer.items.some(({ animalId }) => model.animals.get(animalId)?.quarantine !== null);
  const unsigned = awaited(model, transfer).length > 0;
  if (blocked || unsigned) return no(...blockedBy(blocked || (transfer.outside && apart), unsigned));
  const unless = transfer.outside && apart ? ['TRANSFER_CHECK_BLOCKS'] : [];
  return yes(() => Object.assign(transfer, { state: 'sent', sentOn: on, failure: null }), unless);
}

function fail(model: Model, transfer: Transfer, kind: string, gives: boolean, takes: boolean): Forecast {
  if (transfer.state !== 'sent') return no('TRANSFER_NOT_SENT');
  if ([...transfer.items, ...transfer.eggs].some(({ told }) => told !== null)) return no('TRANSFER_PARTLY_RECEIVED');
  const sides = [...(gives ? ['giver'] : []), ...(takes ? ['receiver'] : [])];
  const earlier = transfer.failure;
  const side = sides.find((each) => each !== earlier?.side) ?? sides[0] ?? 'giver';
  const confirms = earlier !== null && earlier.side !== side;
  if (confirms && earlier.kind !== kind) return no('TRANSFER_FAILURE_DIFFERS');
  if (confirms || transfer.outside) return yes(() => end(model, transfer, 'failed'));
  if (earlier?.kind === kind) return no('TRANSFER_FAILURE_DECLARED');
  return yes(() => void (transfer.failure = { kind, side }));
}

const isPending = ({ told, notSent }: Item): boolean => told === null && !notSent;

function leaveOut(
  model: Model,
  transfer: Transfer,
  { animals, eggs }: Extract<TransferCommand, { do: 'leaveOut' }>,
): Forecast {
  if (transfer.state !== 'sent') return no('TRANSFER_NOT_SENT');
  const named = (item: Item): boolean => animals.includes(item.animalId);
  const left = transfer.eggs.filter(({ clutch, number }) =>
    eggs.some((each) => each.clutch === clutch && each.numbers.includes(number)),
  );
  const known =
    animals.every((id) => transfer.items.some((item) => item.animalId === id && isPending(item))) &&
    left.every(isPendingEgg) &&
    left.length === eggs.reduce((sum, { numbers }) => sum + numbers.length, 0);
  if (!known) return no('TRANSFER_ITEM_NOT_ON_WAY');
  const sent = [
    ...transfer.items.filter((item) => !named(item)),
    ...transfer.eggs.filter((egg) => !left.includes(egg)),
  ];
  if (sent.every(({ notSent }) => notSent)) return no('TRANSFER_NOTHING_SENT');
  return yes(() => {
    for (const egg of left) egg.notSent = true;
    for (const item of transfer.items.filter(named)) {
      item.notSent = true;
      model.animals.get(item.animalId)?.open.delete(`receiver ${transfer.to}`);
    }
    settle(model, transfer);
  });
}

/** Received once something is known of every item. */
function settle(model: Model, transfer: Transfer): void {
  if (transfer.items.some(isPending) || transfer.eggs.some(isPendingEgg)) return;
  transfer.state = 'received';
  transfer.received = model.tick();
}

export function receive(
  model: Model,
  transfer: Transfer,
  { on, more, items, eggs: said }: Arrivals,
  sentOn: string,
): Forecast {
  if (on < sentOn || on > TODAY) return no('*');
  const named = new Map(items.map(({ animal, told }) => [animal, told]));
  const pending = transfer.items.filter(isPending);
  if (named.size < items.length || items.some(({ animal }) => !pending.some(({ animalId }) => animalId === animal)))
    return no('TRANSFER_ARRIVALS_INCOMPLETE');
  const now = pending.filter(({ animalId }) => named.has(animalId) || !more);
  const eggs = toldEggs(transfer, said, more);
  if (now.length === 0 && (eggs === null || eggs.length === 0)) return no('TRANSFER_ARRIVALS_INCOMPLETE');
  const plans: { item: Item; animal: Animal; told: readonly Told[]; there: boolean }[] = [];
  for (const item of now) {
    const animal = model.animals.get(item.animalId);
    const told = named.get(item.animalId) ?? [];
    if (animal === undefined) return no('*');
    const there = isAtHand(animal, transfer.from);
    const sum = told.reduce((total, { count }) => total + count, 0);
    if (sum !== (there ? animal.count : item.count)) return no('*');
    if (!there && told.some(({ state }) => ALIVE.includes(state))) return no('*');
    const stays = told.every(({ state }) => state === 'refused');
    if (there && !stays && dayFault(animal, on) !== null) return no('*');
    // Property moves on the day of receipt, and not before the day from which the giver has it.
    const lost = told.every(({ state }) => state === 'refused' || state === 'missing');
    if (there && !lost && movesOnReceipt(transfer)) {
      const { shares, from } = owned(animal);
      if (on < from || after(shares, transfer.from, transfer.to, item.share) === null) return no('*');
    }
    plans.push({ item, animal, told, there });
  }
  if (eggs === null) return no('TRANSFER_ARRIVALS_INCOMPLETE');
  const fault = landFault(model, eggs, on);
  if (fault !== null) return no(fault);
  return yes((ids) => {
    const made = [...ids];
    land(model, transfer.to, eggs, on);
    for (const { item, animal, told, there } of plans) {
      if (there) arrive(model, { transfer, item }, animal, told, on, made);
      Object.assign(item, { told, on });
      animal.open.delete(`receiver ${transfer.to}`);
    }
    transfer.failure = null;
    settle(model, transfer);
    if (transfer.kind === 'loan_return') endWaitingOfReturned(model, transfer.from);
    const quarantine = `${transfer.id} ${now.map(({ animalId }) => animalId).join()}`;
    if (!transfer.outside)
      keepApart(
        plans.map(({ item }) => item),
        model,
        quarantine,
      );
  });
}

function keepApart(items: readonly Item[], model: Model, quarantine: string): void {
  for (const { animalId, told } of items) {
    const animal = model.animals.get(animalId);
    if (animal?.fate !== 'alive' || told?.some(({ state }) => ALIVE.includes(state)) !== true) continue;
    animal.quarantine = quarantine;
  }
}

/** What comes of one animal or lot that was still with the giver. `made` are the ids of records that stay behind. */
function arrive(
  model: Model,
  { transfer, item }: { readonly transfer: Transfer; readonly item: Item },
  animal: Animal,
  told: readonly Told[],
  on: string,
  made: string[],
): void {
  const of = (state: string): number => told.find((each) => each.state === state)?.count ?? 0;
  const before = animal.changes.length;
  const [missing, refused, dead] = [of('missing'), of('refused'), of('dead')];
  const arrived = told.reduce((sum, { count }) => sum + count, 0) - missing - refused;
  if (arrived === 0 && refused === 0) return void loseTo(animal, 'missing', on);
  if (missing > 0) loseTo(splitOff(model, animal, made.shift() ?? '', missing, on), 'missing', on);
  if (arrived === 0) return;
  if (refused > 0) splitOff(model, animal, made.shift() ?? '', refused, on);
  const giver = held(animal)?.holder ?? '';
  close(animal, on, 'given');
  animal.open.delete(`holder ${giver}`);
  animal.past.add(giver);
  begin(animal, transfer.to, on, !transfer.outside);
  const isLoan = transfer.kind === 'breeding_loan';
  animal.lent = new Set(isLoan ? [transfer.id] : []);
  const span = held(animal);
  if (isLoan && span !== undefined) span.loan = transfer.id;
  if (span !== undefined) span.since = before;
  if (movesOnReceipt(transfer))
    model.own(animal, after(owned(animal).shares, transfer.from, transfer.to, item.share) ?? new Map(), on);
  else if (transfer.title === 'when_paid') item.due = true;
  animal.quarantine = null;
  if (dead > 0) dieOf(animal, dead, on);
  if (span !== undefined) span.receipt = animal.changes.length;
}

function takeUp(model: Model, { by, code, keeper }: Extract<TransferCommand, { do: 'takeUp' }>): Forecast {
  if (!model.acts(by, keeper)) return no('NOT_FOUND');
  const transfer = [...model.transfers.values()].find((each) => each.code === code);
  const over = ['declined', 'withdrawn', 'expired', 'cancelled', 'failed'];
  if (transfer === undefined || !transfer.outside || over.includes(transfer.state)) return no('NOT_FOUND');
  if (keeper === transfer.from) return no('TRANSFER_TO_SELF');
  const guardian = guardianFault(model, by, keeper);
  if (guardian !== null) return no(guardian);
  return yes(() => {
    const party = transfer.to;
    for (const animal of model.animals.values()) {
      for (const span of animal.custody.filter(({ holder }) => holder === party)) {
        span.holder = keeper;
        if (span.to === null || span.left === 'died') animal.open.add(`holder ${keeper}`);
        else animal.past.add(keeper);
      }
      for (const span of animal.owners.filter(({ shares }) => shares.has(party))) {
        const shares = new Map<string, number>();
        for (const [owner, parts] of span.shares) {
          const who = owner === party ? keeper : owner;
          shares.set(who, (shares.get(who) ?? 0) + parts);
        }
        span.shares = shares;
        if (span.to === null) animal.open.add(`owner ${keeper}`);
        else animal.past.add(keeper);
      }
    }
    claimEggs(model, party, keeper);
    for (const claim of model.claims.values())
      for (const each of claim.parties) if (each.owner === party) each.owner = keeper;
    Object.assign(transfer, { to: keeper, outside: false });
    // A guardian who takes it up has agreed with that.
    if (model.isMinors(keeper)) transfer.signed.add('receiver');
    const here = transfer.items.filter(({ animalId }) => {
      const animal = model.animals.get(animalId);
      return animal !== undefined && held(animal)?.holder === keeper;
    });
    keepApart(here, model, `taken up ${transfer.id}`);
    if (transfer.state === 'received') return;
    for (const { animalId } of transfer.items.filter(isPending))
      model.animals.get(animalId)?.open.add(`receiver ${keeper}`);
  });
}
