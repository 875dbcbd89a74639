import { type Decision, decide, refuse } from '../../kernel/index.js';
import { type Side, type Transfer, type TransferState } from './transfer.core.js';

/** One step of a transfer. */
export type Step = 'accept' | 'send' | 'receive' | 'leaveOut' | 'decline' | 'withdraw' | 'expire' | 'cancel' | 'fail';

/** In which states a transfer starts. */
export const FIRST_STATE: TransferState = 'offered';

type Transition = {
  readonly from: readonly TransferState[];
  readonly to: readonly TransferState[];
  readonly by: readonly Side[];
};

/**
 * Every step: from which states it leads where, and whose act it is (nobody's = the registry's own, by the clock). The only
 * place that knows. A step with two ends is one that may take several acts: receipts of parts, a failure both sides tell.
 */
export const TRANSITIONS = {
  accept: { from: ['offered'], to: ['accepted'], by: ['receiver'] },
  decline: { from: ['offered'], to: ['declined'], by: ['receiver'] },
  withdraw: { from: ['offered'], to: ['withdrawn'], by: ['giver'] },
  expire: { from: ['offered'], to: ['expired'], by: [] },
  send: { from: ['accepted'], to: ['sent'], by: ['giver'] },
  cancel: { from: ['accepted'], to: ['cancelled'], by: ['giver', 'receiver'] },
  receive: { from: ['sent'], to: ['sent', 'received'], by: ['receiver'] },
  leaveOut: { from: ['sent'], to: ['sent', 'received'], by: ['giver'] },
  fail: { from: ['sent'], to: ['sent', 'failed'], by: ['giver', 'receiver'] },
} as const satisfies Record<Step, Transition>;

/** States without an exit: nothing happens to the transfer any more, its animals are free for another. */
export const FINAL_STATES: readonly TransferState[] = [
  'received',
  'declined',
  'withdrawn',
  'expired',
  'cancelled',
  'failed',
];

/** Every step there is. */
export const STEPS = Object.keys(TRANSITIONS) as Step[];

/** Whether the step can be taken from the state. */
export function canStep(step: Step, state: TransferState): boolean {
  const from: readonly TransferState[] = TRANSITIONS[step].from;
  return from.includes(state);
}

const NEXT: Record<TransferState, string> = {
  offered: 'The receiver accepts or declines it next, or the giver withdraws it.',
  accepted: 'The giver sends it next, or either side cancels it.',
  sent: 'The receiver says next how each animal arrived; animals that come back are reported as refused.',
  received: 'It is finished. To give animals back, offer a new transfer.',
  declined: 'It is finished. The giver may offer a new transfer.',
  withdrawn: 'It is finished. The giver may offer a new transfer.',
  expired: 'It is finished. The giver may offer a new transfer.',
  cancelled: 'It is finished. The giver may offer a new transfer.',
  failed: 'It is finished. The giver may offer a new transfer.',
};

/**
 * What is wrong with the table: states that cannot be reached, open ones without a way out, final ones with one. Empty when
 * all is well; the transfer module does not start otherwise.
 */
export function faultsOf(
  transitions: Record<string, { from: readonly TransferState[]; to: readonly TransferState[] }> = TRANSITIONS,
  finals: readonly TransferState[] = FINAL_STATES,
): string[] {
  const states = Object.keys(NEXT) as TransferState[];
  const steps = Object.values(transitions);
  const reached = new Set<TransferState>([FIRST_STATE]);
  for (const state of reached) {
    for (const { from, to } of steps) if (from.includes(state)) for (const next of to) reached.add(next);
  }
  return states.flatMap((state) => {
    const faults = reached.has(state) ? [] : [`No step leads to "${state}".`];
    const hasExit = steps.some(({ from, to }) => from.includes(state) && to.some((next) => next !== state));
    if (!hasExit && !finals.includes(state)) faults.push(`No step leads out of "${state}".`);
    if (finals.includes(state) && steps.some(({ from }) => from.includes(state)))
      faults.push(`"${state}" is final and has a step.`);
    return faults;
  });
}

type InState<K extends Step> = Extract<Transfer, { state: (typeof TRANSITIONS)[K]['from'][number] }>;

/** The transfer, known to be in a state from which the step leads on; otherwise TRANSFER_NOT_OFFERED and the like. */
export function inStateFor<K extends Step>(step: K, transfer: Transfer): Decision<InState<K>> {
  if (canStep(step, transfer.state)) return decide(transfer as InState<K>);
  const rule = {
    accept: 'TRANSFER_NOT_OFFERED',
    send: 'TRANSFER_NOT_ACCEPTED',
    receive: 'TRANSFER_NOT_SENT',
    leaveOut: 'TRANSFER_NOT_SENT',
    decline: 'TRANSFER_NOT_DECLINABLE',
    withdraw: 'TRANSFER_NOT_WITHDRAWABLE',
    expire: 'TRANSFER_NOT_OFFERED',
    cancel: 'TRANSFER_NOT_CANCELLABLE',
    fail: 'TRANSFER_NOT_SENT',
  } as const satisfies Record<Step, string>;
  const states = TRANSITIONS[step].from.join(' or ');
  const message = `Only a transfer that is ${states} can be ${DONE[step]}; this one is ${transfer.state}. ${NEXT[transfer.state]}`;
  return refuse(rule[step], message, {
    blockers: [{ kind: 'transfer', id: transfer.id, remedy: NEXT[transfer.state] }],
  });
}

const DONE: Record<Step, string> = {
  accept: 'accepted',
  send: 'sent',
  receive: 'received',
  leaveOut: 'sent in part',
  decline: 'declined',
  withdraw: 'withdrawn',
  expire: 'expired',
  cancel: 'cancelled',
  fail: 'reported as failed',
};
