import { actsFor, guards, owns, type Viewer } from '../../kernel/index.js';
import { decideOpening } from '../hand-over/hand-over.core.js';
import { type Side, type Transfer } from './transfer.core.js';
import { canStep, type Step, STEPS, TRANSITIONS } from './transitions.core.js';

type Parties = Pick<Transfer, 'fromKeeperId' | 'receiver'>;

/** The sides a viewer acts for, in any role: a helper does the daily work of a keeper, and hand-overs are part of it. */
export function sidesOf(viewer: Viewer, transfer: Parties): Side[] {
  const sides: Side[] = [];
  if (actsFor(viewer, transfer.fromKeeperId)) sides.push('giver');
  if (transfer.receiver.kind === 'keeper' && actsFor(viewer, transfer.receiver.keeperId)) sides.push('receiver');
  return sides;
}

/** Only the two parties see a transfer. */
export function maySee(viewer: Viewer, transfer: Parties): boolean {
  return sidesOf(viewer, transfer).length > 0;
}

/** Whether the viewer reads the price: an owner of one of the two keepers does, a helper does not. */
export function maySeePrice(viewer: Viewer, { fromKeeperId, receiver }: Parties): boolean {
  return owns(viewer, fromKeeperId) || (receiver.kind === 'keeper' && owns(viewer, receiver.keeperId));
}

/**
 * Whether the viewer may take the step: each side its own. For an outside party without an account the giver takes the
 * receiver's steps as well, and the ledger says so (`isAttested`).
 */
export function mayStep(viewer: Viewer, step: Step, transfer: Parties): boolean {
  const sides = sidesOf(viewer, transfer);
  const by: readonly Side[] = TRANSITIONS[step].by;
  return sides.some((side) => by.includes(side)) || (isAttested(step, transfer) && sides.includes('giver'));
}

/** Whether the step would be recorded by the giver on behalf of an outside party. */
export function isAttested(step: Step, transfer: Parties): boolean {
  const by: readonly Side[] = TRANSITIONS[step].by;
  return transfer.receiver.kind === 'outside_party' && by.length === 1 && by[0] === 'receiver';
}

/** What the viewer can do with the transfer besides its steps. */
export type Besides = 'openHandOver' | 'confirmHandOver' | 'countersign' | 'withdrawCountersignature';

/** What the viewer can do with the transfer right now: allowed, and possible in its state. */
export function viewerCan(viewer: Viewer, transfer: Transfer): Record<Step | Besides, boolean> {
  const can = (step: Step): boolean => mayStep(viewer, step, transfer) && canStep(step, transfer.state);
  const sides = sidesOf(viewer, transfer);
  const inPerson = decideOpening(transfer).ok;
  const unsent = canStep('accept', transfer.state) || canStep('send', transfer.state);
  const keeperOf = {
    giver: transfer.fromKeeperId,
    receiver: 'keeperId' in transfer.receiver ? transfer.receiver.keeperId : null,
  };
  // Whoever guards a keeper today: with the day on which it is an adult's the guardian's part is over.
  const guarded = transfer.countersigning.filter(({ side }) => guards(viewer, keeperOf[side]));
  return {
    ...(Object.fromEntries(STEPS.map((step) => [step, can(step)])) as Record<Step, boolean>),
    openHandOver: inPerson && sides.includes('giver'),
    confirmHandOver: inPerson && sides.includes('receiver'),
    countersign: unsent && guarded.some(({ signed }) => !signed),
    withdrawCountersignature: unsent && guarded.some(({ signed }) => signed),
  };
}
