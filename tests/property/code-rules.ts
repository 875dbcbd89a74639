import { awaited } from './guard-rules.js';
import { type Code, held, type Model, owned, TODAY, type Transfer } from './history-model.js';
import { type Forecast, no, yes } from './forecast.js';
import { type Arrivals, blockedBy, receive, send } from './transfer-rules.js';

/** A command about the code of a hand-over in person. `tries`: how often the same is entered, one after the other. */
export type CodeCommand = { readonly by: string } & (
  | { readonly do: 'openCode'; transfer: string; reason: boolean }
  | {
      readonly do: 'enterCode';
      transfer: string;
      code: string;
      tries: number;
      items: Arrivals['items'];
      eggs: Arrivals['eggs'];
    }
  | { readonly do: 'wait'; minutes: number }
);

/** What is no code at all, by its form. */
export const MISTYPED = 'AAAAA-AAAAA';
const LIVES_MINUTES = 15;
const WRONG_TRIES = 10;
/** Codes that an account may enter in an hour, right and wrong. */
const ENTERED = 30;

export function forecastCode(model: Model, command: CodeCommand): Forecast {
  switch (command.do) {
    case 'wait':
      return yes(() => void (model.minute += command.minutes), [], 0);
    case 'openCode':
      return open(model, command);
    case 'enterCode':
      return enter(model, command);
  }
}

/** What keeps a hand-over in person from being opened, or from being done. */
function openingFault({ outside, state }: Transfer): string | null {
  if (outside) return 'HAND_OVER_NO_ACCOUNT';
  return state === 'offered' || state === 'accepted' ? null : 'HAND_OVER_NOT_OPEN';
}

function open(model: Model, { by, transfer: id, reason }: Extract<CodeCommand, { do: 'openCode' }>): Forecast {
  const transfer = model.transfers.get(id);
  if (transfer === undefined) return no('NOT_FOUND');
  const takes = !transfer.outside && model.acts(by, transfer.to);
  if (!model.acts(by, transfer.from)) return no(takes ? 'FORBIDDEN' : 'NOT_FOUND');
  const fault = openingFault(transfer);
  if (fault !== null) return no(fault);
  const animals = transfer.items.flatMap(({ animalId }) => model.animals.get(animalId) ?? []);
  const blocks = animals.some((animal) => {
    const { shares, disputed } = owned(animal);
    const holder = held(animal)?.holder ?? '';
    const borrowed = holder === transfer.from && !shares.has(transfer.from) && transfer.kind !== 'loan_return';
    const lent = model.isKeeper(holder) && holder !== transfer.from && shares.has(transfer.from);
    return disputed || borrowed || lent || ['missing', 'stolen'].includes(animal.fate) || animal.reported;
  });
  // Of a receiver who has not accepted nothing is told.
  const unsigned = awaited(model, transfer).some((side) => side === 'giver' || transfer.state === 'accepted');
  if (blocks || unsigned) return no(...blockedBy(blocks, unsigned));
  // In spite of a quarantine only with a reason.
  const unless = !reason && isApart(model, transfer) ? ['TRANSFER_REASON_NEEDED'] : [];
  return yes(([text = '']) => {
    transfer.codes.push({ text, reason, opened: model.minute, wrong: 0, used: false });
  }, unless);
}

function isApart(model: Model, { items }: Transfer): boolean {
  return items.some(({ animalId }) => (model.animals.get(animalId)?.quarantine ?? null) !== null);
}

function enter(model: Model, command: Extract<CodeCommand, { do: 'enterCode' }>): Forecast {
  const { by, code, tries } = command;
  if (code === MISTYPED) return no('INVALID_INPUT');
  const entered = model.entered.get(by) ?? 0;
  const count = Math.min(tries, ENTERED - entered);
  // Only what is wrong is entered again and again; of that the last answer counts.
  const transfer = model.transfers.get(command.transfer);
  const last = transfer?.codes.at(-1);
  const refused = (rule: string, wrong = 0): Forecast => ({
    refused: [count < tries ? 'RATE_LIMITED' : rule],
    entries: wrong,
    apply: () => {
      model.entered.set(by, entered + count);
      if (last !== undefined) last.wrong += wrong;
    },
  });
  if (count === 0 || transfer === undefined) return refused('NOT_FOUND');
  const takes = !transfer.outside && model.acts(by, transfer.to);
  const gives = model.acts(by, transfer.from);
  if (!takes && !gives) return refused('NOT_FOUND');
  if (!takes && !transfer.outside) return refused('FORBIDDEN');
  if (last === undefined) return refused('HAND_OVER_CODE_NONE');
  const closed = closedBy(model, last);
  if (closed !== null) return refused(closed);
  if (last.text !== code) {
    const wrong = Math.min(count, WRONG_TRIES - last.wrong);
    return refused(wrong < count ? 'HAND_OVER_CODE_CLOSED' : 'HAND_OVER_CODE_WRONG', wrong);
  }
  const fault = openingFault(transfer);
  if (fault !== null) return refused(fault);
  return handOver(model, transfer, last, command, refused);
}

function closedBy(model: Model, { used, wrong, opened }: Code): string | null {
  if (used) return 'HAND_OVER_CODE_USED';
  if (wrong >= WRONG_TRIES) return 'HAND_OVER_CODE_CLOSED';
  return model.minute >= opened + LIVES_MINUTES ? 'HAND_OVER_CODE_EXPIRED' : null;
}

/** Accepted, sent and received today, all of it or nothing. What is in the way of sending is the giver's to know. */
function handOver(
  model: Model,
  transfer: Transfer,
  code: Code,
  { by, items, eggs }: Extract<CodeCommand, { do: 'enterCode' }>,
  refused: (rule: string) => Forecast,
): Forecast {
  const sent = send(model, { ...transfer, state: 'accepted' }, TODAY);
  if ('refused' in sent)
    return refused(
      awaited(model, transfer).includes('receiver') ? 'TRANSFER_COUNTERSIGNATURE_AWAITED' : 'HAND_OVER_NOT_READY',
    );
  const received = receive(model, transfer, { on: TODAY, more: false, items, eggs }, TODAY);
  const count = (): void => void model.entered.set(by, (model.entered.get(by) ?? 0) + 1);
  if ('refused' in received) return { ...received, apply: count };
  const entries = transfer.state === 'offered' ? 4 : 3;
  return {
    entries,
    unless: !code.reason && isApart(model, transfer) ? ['HAND_OVER_NOT_READY'] : [],
    apply: (made) => {
      count();
      Object.assign(transfer, { state: 'sent', accepted: true, sentOn: TODAY });
      received.apply(made);
      code.used = true;
    },
  };
}
