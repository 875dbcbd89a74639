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
  type AcceptedTransfer,
  type ArrivalState,
  type SentTransfer,
  type Transfer,
  type TransferEgg,
} from '../core/transfer.core.js';

/** Most eggs of one transfer. */
export const MAX_EGGS = 200;

/** What a decision has to know of an egg, read under lock: who has it since when, and whether it has hatched or come to nothing. */
export type EggAtHand = {
  readonly keeperId: string | null;
  /** Null = the day is not known. */
  readonly since: Day | null;
  readonly over: boolean;
};

/** What the receiver says of eggs of one clutch. */
export type EggArrival = {
  readonly clutchId: string;
  readonly numbers: readonly number[];
  readonly state: ArrivalState;
};

/** Eggs of which nobody has said yet how they arrived, or that they were left out. */
export function pendingEggs({ eggs }: Pick<Transfer, 'eggs'>): TransferEgg[] {
  return eggs.filter((egg) => egg.arrival === null && !egg.notSent);
}

/** What keeps eggs from being sent on a day: they ended or went elsewhere since the offer, or the giver had them only later. */
export function eggSendProblem(
  transfer: Pick<AcceptedTransfer, 'eggs' | 'fromKeeperId'>,
  atHand: ReadonlyMap<string, EggAtHand>,
  sentOn: Day,
): Decision<null> {
  const gone = transfer.eggs.filter(({ eggId }) => {
    const egg = atHand.get(eggId);
    return egg === undefined || egg.over || egg.keeperId !== transfer.fromKeeperId;
  });
  const [first] = gone;
  if (first === undefined) return heldProblem(transfer, atHand, sentOn);
  const remedy = 'Cancel this transfer and offer what is left; young that hatched are offered as animals.';
  const blockers: Blocker[] = gone.map(({ eggId }) => ({ kind: 'egg', id: eggId, remedy }));
  const numbers = gone.map(({ number }) => number).join(', ');
  return refuse(
    'TRANSFER_EGG_GONE',
    `Egg ${numbers} has hatched, come to nothing, or is not with the giver. ${remedy}`,
    {
      blockers,
    },
  );
}

function heldProblem(
  { eggs }: Pick<AcceptedTransfer, 'eggs'>,
  atHand: ReadonlyMap<string, EggAtHand>,
  sentOn: Day,
): Decision<null> {
  const since = eggs
    .flatMap(({ eggId }) => atHand.get(eggId)?.since ?? [])
    .toSorted(compareDays)
    .at(-1);
  if (since === undefined || compareDays(sentOn, since) >= 0) return decide(null);
  const remedy = `Write ${since} or a later day.`;
  const early = eggs.filter(({ eggId }) => {
    const known = atHand.get(eggId)?.since ?? null;
    return known !== null && compareDays(sentOn, known) < 0;
  });
  const numbers = early.map(({ number }) => number).join(', ');
  return refuse(
    'TRANSFER_SENT_BEFORE_HELD',
    `The giver has egg ${numbers} since ${since} only, so it was not sent on ${sentOn}. ${remedy}`,
    { blockers: early.map(({ eggId }) => ({ kind: 'egg', id: eggId, remedy })) },
  );
}

/**
 * The receiver says how eggs arrived: each once. With `moreToCome` those not named are still on their way. Gives the eggs
 * of which something was said now.
 */
export function receiveEggs(
  transfer: SentTransfer,
  said: readonly EggArrival[],
  received: { readonly on: Day; readonly moreToCome: boolean },
): Decision<TransferEgg[]> {
  const pending = pendingEggs(transfer);
  const told = new Map<string, TransferEgg>();
  const fields: FieldProblem[] = [];
  said.forEach(({ clutchId, numbers, state }, i) => {
    for (const number of numbers) {
      const path = `input.eggs.${i}.numbers`;
      const egg = pending.find((each) => each.clutchId === clutchId && each.number === number);
      if (egg === undefined) {
        const message = `Egg ${number} is not on its way in this transfer.`;
        fields.push({ path, message, remedy: 'Name eggs of the transfer that have not arrived.' });
      } else if (told.has(egg.eggId)) {
        fields.push({ path, message: `Egg ${number} is named twice.`, remedy: 'Name it in one state.' });
      } else told.set(egg.eggId, { ...egg, arrival: state, receivedOn: received.on });
    }
  });
  const silent = received.moreToCome ? [] : pending.filter(({ eggId }) => !told.has(eggId));
  if (silent.length > 0) {
    const message = `Nothing is said of egg ${silent.map(({ number }) => number).join(', ')}. Nothing is received by itself.`;
    fields.push({ path: 'input.eggs', message, remedy: 'Say how each arrived, or that more is to come.' });
  }
  const [first] = fields;
  return first === undefined
    ? decide([...told.values()])
    : refuse('TRANSFER_ARRIVALS_INCOMPLETE', first.message, { fields });
}

/** Where an egg is after it arrived so. A refused one goes back, a missing one was never there; a dead one is the receiver's. */
export function landingOf(state: ArrivalState): 'giver' | 'giver_missing' | 'receiver' | 'receiver_dead' {
  if (state === 'refused') return 'giver';
  if (state === 'missing') return 'giver_missing';
  return state === 'dead' ? 'receiver_dead' : 'receiver';
}

/** Whether an egg is, or may still come to be, with the receiver; null = it has not arrived. */
export function landsWithReceiver(arrival: ArrivalState | null): boolean {
  return arrival === null || landingOf(arrival).startsWith('receiver');
}

/** The giver says that eggs were not sent. Those not on their way in this transfer are refused by name. */
export function leaveOutEggs(
  transfer: SentTransfer,
  named: readonly { readonly clutchId: string; readonly numbers: readonly number[] }[],
): Decision<TransferEgg[]> {
  const pending = pendingEggs(transfer);
  const fields: FieldProblem[] = [];
  const left = named.flatMap(({ clutchId, numbers }, i) =>
    numbers.flatMap((number) => {
      const egg = pending.find((each) => each.clutchId === clutchId && each.number === number);
      if (egg !== undefined) return [{ ...egg, notSent: true }];
      const message = `Egg ${number} is not on its way in this transfer.`;
      fields.push({ path: `input.eggs.${i}.numbers`, message, remedy: 'Name eggs that have not arrived.' });
      return [];
    }),
  );
  return fields.length === 0 ? decide(left) : refuse('TRANSFER_ITEM_NOT_ON_WAY', fields[0]?.message ?? '', { fields });
}

/** The eggs of a transfer after something became known of some of them. */
export function withEggs(eggs: readonly TransferEgg[], changed: readonly TransferEgg[]): TransferEgg[] {
  const now = new Map(changed.map((egg) => [egg.eggId, egg]));
  return eggs.map((egg) => now.get(egg.eggId) ?? egg);
}
