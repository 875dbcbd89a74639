import { type Decision, decide, refuse } from '../../kernel/index.js';
import { type Transfer, type TransferState } from './transfer.core.js';

/** Whose act a step is. */
export type Side = 'giver' | 'receiver';

/** One step of a transfer. */
export type Step = 'accept' | 'send' | 'receive' | 'decline' | 'withdraw';

/** In which states a transfer starts. */
export const FIRST_STATE: TransferState = 'offered';

/** Every step: from which states it leads where, and whose act it is. The only place that knows. */
export const TRANSITIONS = {
  accept: { from: ['offered'], to: 'accepted', by: 'receiver' },
  send: { from: ['accepted'], to: 'sent', by: 'giver' },
  receive: { from: ['sent'], to: 'received', by: 'receiver' },
  decline: { from: ['offered', 'accepted'], to: 'declined', by: 'receiver' },
  withdraw: { from: ['offered', 'accepted'], to: 'withdrawn', by: 'giver' },
} as const satisfies Record<Step, { from: readonly TransferState[]; to: TransferState; by: Side }>;

/** States without an exit: nothing happens to the transfer any more, its animals are free for another. */
export const FINAL_STATES: readonly TransferState[] = ['received', 'declined', 'withdrawn'];

/** Whether the step can be taken from the state. */
export function canStep(step: Step, state: TransferState): boolean {
  const from: readonly TransferState[] = TRANSITIONS[step].from;
  return from.includes(state);
}

const NEXT: Record<TransferState, string> = {
  offered: 'The receiver accepts or declines it next, or the giver withdraws it.',
  accepted: 'The giver sends or withdraws it next, or the receiver declines it.',
  sent: 'The receiver says next how each animal arrived; animals that come back are reported as refused.',
  received: 'It is finished. To give animals back, offer a new transfer.',
  declined: 'It is finished. The giver may offer a new transfer.',
  withdrawn: 'It is finished. The giver may offer a new transfer.',
};

type InState<K extends Step> = Extract<Transfer, { state: (typeof TRANSITIONS)[K]['from'][number] }>;

/** The transfer, known to be in a state from which the step leads on; otherwise TRANSFER_NOT_OFFERED and the like. */
export function inStateFor<K extends Step>(step: K, transfer: Transfer): Decision<InState<K>> {
  if (canStep(step, transfer.state)) return decide(transfer as InState<K>);
  const rule = {
    accept: 'TRANSFER_NOT_OFFERED',
    send: 'TRANSFER_NOT_ACCEPTED',
    receive: 'TRANSFER_NOT_SENT',
    decline: 'TRANSFER_NOT_DECLINABLE',
    withdraw: 'TRANSFER_NOT_WITHDRAWABLE',
  } as const satisfies Record<Step, string>;
  const done = { accept: 'accepted', send: 'sent', receive: 'received', decline: 'declined', withdraw: 'withdrawn' }[
    step
  ];
  const states = TRANSITIONS[step].from.join(' or ');
  const message = `Only a transfer that is ${states} can be ${done}; this one is ${transfer.state}. ${NEXT[transfer.state]}`;
  return refuse(rule[step], message, {
    blockers: [{ kind: 'transfer', id: transfer.id, remedy: NEXT[transfer.state] }],
  });
}
