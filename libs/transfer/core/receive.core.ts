import {
  type Blocker,
  compareDays,
  type Day,
  type Decision,
  decide,
  type FieldProblem,
  refuse,
} from '../../kernel/index.js';
import {
  type AnimalAtHand,
  type Arrival,
  type ArrivalState,
  type ReceivedTransfer,
  type SentTransfer,
  type Transfer,
  type TransferEgg,
  type TransferItem,
} from './transfer.core.js';
import { type EggArrival, leaveOutEggs, pendingEggs, receiveEggs, withEggs } from '../eggs/transfer-eggs.core.js';
import { inStateFor } from './transitions.core.js';

/** What the receiver says of one item. */
export type ItemArrival = {
  readonly animalId: string;
  readonly arrivals: readonly Arrival[];
  readonly note?: string | null | undefined;
};

/** What the receiver says of a day's arrivals. `moreToCome`: items not named are still on their way. */
export type Arrivals = {
  readonly on: Day;
  readonly items: readonly ItemArrival[];
  readonly eggs?: readonly EggArrival[];
  readonly moreToCome?: boolean;
};

/**
 * What happens to an item's record, in this order. `split_back`: that many go into a record that stays with the giver.
 * `mark_missing`: the record stays with the giver as missing. `move`: custody and property go to the receiver.
 * `die`: that many are recorded as dead with the receiver, on the same day.
 */
export type ReceiptStep =
  | { readonly do: 'split_back'; readonly count: number; readonly missing: boolean }
  | { readonly do: 'mark_missing' }
  | { readonly do: 'move' }
  | { readonly do: 'die'; readonly count: number };

/** The transfer, still sent while items are on their way, and what to do with each animal or lot that arrived now. */
export type Receipt = {
  readonly transfer: SentTransfer | ReceivedTransfer;
  readonly plans: readonly { readonly item: TransferItem; readonly steps: readonly ReceiptStep[] }[];
  /** Eggs of which something was said now. */
  readonly eggs: readonly TransferEgg[];
};

/** Items of which nobody has said yet how they arrived, or that they were left out. */
export function pendingItems({ items }: Pick<Transfer, 'items'>): TransferItem[] {
  return items.filter((item) => item.arrivals.length === 0 && !item.notSent);
}

/**
 * The receiver says how everything arrived: every item once, its counts summing to its number. Animals well, ill or not
 * as described become the receiver's on the day; a dead one does too and is then recorded as dead; what is missing or
 * refused stays with the giver. With `moreToCome` only the items named have arrived, and the transfer stays sent until
 * something is said of each. `animals` are the facts of every item, read under lock.
 */
export function receiveTransfer(
  transfer: Transfer,
  received: Arrivals,
  animals: ReadonlyMap<string, AnimalAtHand>,
  clock: { readonly now: Date; readonly today: Day },
): Decision<Receipt> {
  const at = inStateFor('receive', transfer);
  if (!at.ok) return at;
  const dayProblem = receivedDayProblem(at.value, received.on, clock.today);
  if (dayProblem !== null) return dayProblem;

  const said = new Map(received.items.map((item) => [item.animalId, item]));
  const fields: FieldProblem[] = received.items.flatMap((item, i) =>
    strangerProblem(at.value, received.items, item, i),
  );
  const blockers: Blocker[] = [];
  const told = pendingItems(at.value).filter(({ animalId }) => said.has(animalId) || received.moreToCome !== true);
  const more = received.moreToCome === true;
  const eggs = receiveEggs(at.value, received.eggs ?? [], { on: received.on, moreToCome: more });
  if (eggs.ok && told.length + eggs.value.length === 0 && fields.length === 0) fields.push(nothingTold());
  const plans = told.map((item) => {
    const { arrivals = [], note = null } = said.get(item.animalId) ?? {};
    const animal = animals.get(item.animalId);
    const there = animal !== undefined && isStillThere(at.value, animal) ? animal.count : 0;
    const position = received.items.findIndex((candidate) => candidate.animalId === item.animalId);
    fields.push(...countProblems(item, arrivals, there, position));
    if (there === 0 && arrivals.some((arrival) => arrivesAlive(arrival.state))) {
      const remedy = 'Ask the giver to correct the record first, or say dead, missing or refused.';
      blockers.push({ kind: 'animal', id: item.animalId, remedy });
    }
    const steps = there === 0 ? [] : planSteps(arrivals, animal?.kind ?? 'individual');
    const titleDue = waitsForPayment(at.value) && steps.some((step) => step.do === 'move');
    const arrived = {
      arrivals: arrivals.filter((arrival) => arrival.count > 0),
      receivedOn: received.on,
      note,
      titleDue,
    };
    return { item: { ...item, ...arrived }, steps };
  });

  const [firstField] = fields;
  if (firstField !== undefined) return refuse('TRANSFER_ARRIVALS_INCOMPLETE', firstField.message, { fields });
  if (blockers.length > 0) {
    const message =
      'An animal that was recorded as gone while on its way cannot arrive alive before its record is corrected.';
    return refuse('TRANSFER_ANIMAL_GONE', message, { blockers });
  }
  if (!eggs.ok) return eggs;
  const now = new Map(plans.map(({ item }) => [item.id, item]));
  const changed = {
    items: at.value.items.map((item) => now.get(item.id) ?? item),
    eggs: withEggs(at.value.eggs, eggs.value),
  };
  return decide({ transfer: settled({ ...at.value, ...changed, failure: null }, clock.now), plans, eggs: eggs.value });
}

/** Whether property that could move with custody waits for the price. */
function waitsForPayment({ title, paidUpOn }: Pick<Transfer, 'title' | 'paidUpOn'>): boolean {
  return title === 'when_paid' && paidUpOn === null;
}

/** Whether the giver's property goes to the receiver together with custody. */
export function titleMovesOnReceipt(transfer: Pick<Transfer, 'title' | 'paidUpOn'>): boolean {
  return transfer.title !== 'stays' && !waitsForPayment(transfer);
}

/** The giver says that items were left out of what was sent; they are free again. All of them left out is a failed transfer. */
export function leaveOut(
  transfer: Transfer,
  animalIds: readonly string[],
  now: Date,
  eggsNamed: Parameters<typeof leaveOutEggs>[1] = [],
): Decision<Receipt['transfer']> {
  const at = inStateFor('leaveOut', transfer);
  if (!at.ok) return at;
  const pending = new Set(pendingItems(at.value).map(({ animalId }) => animalId));
  const fields = animalIds.flatMap((animalId, i) => {
    if (pending.has(animalId)) return [];
    const message = 'This animal is not on its way in this transfer.';
    return [{ path: `input.animalIds.${i}`, message, remedy: 'Name items that have not arrived.' }];
  });
  if (fields.length > 0) return refuse('TRANSFER_ITEM_NOT_ON_WAY', fields[0]?.message ?? '', { fields });
  const items = at.value.items.map((item) => (animalIds.includes(item.animalId) ? { ...item, notSent: true } : item));
  const left = leaveOutEggs(at.value, eggsNamed);
  if (!left.ok) return left;
  const eggs = withEggs(at.value.eggs, left.value);
  if ([...items, ...eggs].every((each) => each.notSent)) {
    const message = 'Nothing of it would have been sent. Report the transfer as failed instead: the animals came back.';
    return refuse('TRANSFER_NOTHING_SENT', message);
  }
  return decide(settled({ ...at.value, items, eggs }, now));
}

/** Received once something is known of every item; its day is that of the last arrival. */
function settled(transfer: SentTransfer, now: Date): SentTransfer | ReceivedTransfer {
  if (pendingItems(transfer).length + pendingEggs(transfer).length > 0) return transfer;
  const days = [...transfer.items, ...transfer.eggs].flatMap(({ receivedOn }) => receivedOn ?? []).sort(compareDays);
  return { ...transfer, state: 'received', receivedOn: days.at(-1) ?? transfer.sentOn, closedAt: now };
}

function nothingTold(): FieldProblem {
  const message = 'Nothing is said of any animal that is on its way.';
  return { path: 'input.items', message, remedy: 'Say how at least one arrived.' };
}

function receivedDayProblem(transfer: SentTransfer, on: Day, today: Day): Decision<never> | null {
  const path = 'input.receivedOn';
  if (compareDays(on, transfer.sentOn) < 0) {
    const message = `The animals were sent on ${transfer.sentOn}, so they did not arrive on ${on}.`;
    const remedy = `Write ${transfer.sentOn} or a later day.`;
    return refuse('TRANSFER_RECEIVED_BEFORE_SENT', message, { fields: [{ path, message, remedy }] });
  }
  if (compareDays(on, today) > 0) {
    const message = `The day of arrival, ${on}, has not come yet.`;
    const remedy = `Write ${today} or an earlier day.`;
    return refuse('TRANSFER_RECEIVED_IN_FUTURE', message, { fields: [{ path, message, remedy }] });
  }
  return null;
}

/** Alive and with the giver: whatever died or left on the way has no record that could move. */
function isStillThere(transfer: SentTransfer, animal: AnimalAtHand): boolean {
  return animal.fate === 'alive' && animal.holderKeeperId === transfer.fromKeeperId;
}

/** Ids of the items of which at least one animal arrived alive and stays with the receiver: a refused one goes back, whatever its health. */
export function arrivedAlive(items: readonly TransferItem[]): string[] {
  return items
    .filter(({ arrivals }) => arrivals.some(({ state, count }) => count > 0 && arrivesAlive(state)))
    .map(({ animalId }) => animalId);
}

function arrivesAlive(state: ArrivalState): boolean {
  return state === 'well' || state === 'ill' || state === 'not_as_described';
}

function strangerProblem(
  transfer: SentTransfer,
  all: readonly ItemArrival[],
  item: ItemArrival,
  i: number,
): FieldProblem[] {
  const path = `input.items.${i}.animalId`;
  if (!transfer.items.some((candidate) => candidate.animalId === item.animalId)) {
    return [{ path, message: 'This animal is not part of the transfer.', remedy: 'Leave it out.' }];
  }
  if (!pendingItems(transfer).some((candidate) => candidate.animalId === item.animalId)) {
    const message = 'What became of this animal is recorded already.';
    return [{ path, message, remedy: 'Leave it out. To give it back, offer a new transfer.' }];
  }
  if (all.findIndex((candidate) => candidate.animalId === item.animalId) !== i) {
    return [{ path, message: 'This animal is named twice.', remedy: 'Put all its arrivals into one item.' }];
  }
  return [];
}

function countProblems(item: TransferItem, arrivals: readonly Arrival[], there: number, i: number): FieldProblem[] {
  const path = i < 0 ? 'input.items' : `input.items.${i}.arrivals`;
  const expected = there === 0 ? item.count : there;
  if (arrivals.length === 0) {
    const message = `Nothing is said of the animal ${item.animalId}. Nothing is received by itself.`;
    return [{ path, message, remedy: `Say how ${expected === 1 ? 'it' : `all ${expected}`} arrived.` }];
  }
  if (new Set(arrivals.map((arrival) => arrival.state)).size < arrivals.length) {
    return [{ path, message: 'An arrival state is named twice.', remedy: 'Add its counts together.' }];
  }
  const sum = arrivals.reduce((total, arrival) => total + arrival.count, 0);
  if (sum === expected) return [];
  const since = expected === item.count ? '' : ` (${item.count} were offered, the record counts ${expected} now)`;
  return [
    {
      path,
      message: `${sum} arrivals are given for ${expected}${since}.`,
      remedy: `Make the counts sum to ${expected}.`,
    },
  ];
}

function planSteps(arrivals: readonly Arrival[], kind: 'individual' | 'lot'): ReceiptStep[] {
  const count = (state: ArrivalState): number => arrivals.find((arrival) => arrival.state === state)?.count ?? 0;
  const dead = count('dead');
  const missing = count('missing');
  const refused = count('refused');
  const arrived = arrivals.reduce((sum, arrival) => sum + arrival.count, 0) - missing - refused;
  if (kind === 'individual' && arrived === 0) return missing > 0 ? [{ do: 'mark_missing' }] : [];

  const steps: ReceiptStep[] = [];
  // With nothing arrived the lot itself stays behind: as the refused part, or, if all are missing, as missing.
  if (arrived === 0 && refused === 0) return [{ do: 'mark_missing' }];
  if (missing > 0) steps.push({ do: 'split_back', count: missing, missing: true });
  if (arrived === 0) return steps;
  if (refused > 0) steps.push({ do: 'split_back', count: refused, missing: false });
  steps.push({ do: 'move' });
  if (dead > 0) steps.push({ do: 'die', count: dead });
  return steps;
}
