import { type Decision, decide, refuse } from '../../kernel/index.js';
import { type Failure, type FailedTransfer, type SentTransfer, type Side, type Transfer } from './transfer.core.js';
import { inStateFor } from './transitions.core.js';

/**
 * One side says that a sent transfer failed; once the other says the same it has, and everything is as it was before it was
 * offered: the giver held the animals all the time. `alone` is for an outside party, for whom the giver speaks as well. A
 * receipt takes a declared failure back; what has arrived in part cannot fail any more.
 */
export function failTransfer(
  transfer: Transfer,
  said: {
    readonly kind: Failure['kind'];
    readonly side: Side;
    readonly alone: boolean;
    readonly reason: string | null;
  },
  now: Date,
): Decision<SentTransfer | FailedTransfer> {
  const at = inStateFor('fail', transfer);
  if (!at.ok) return at;
  const sent = at.value;
  if (sent.items.some((item) => item.arrivals.length > 0) || sent.eggs.some((egg) => egg.arrival !== null)) {
    const remedy = 'The receiver reports the others as missing or refused, or the giver that they were not sent.';
    const message = `A part of it has been received, so the transfer as a whole cannot fail. ${remedy}`;
    return refuse('TRANSFER_PARTLY_RECEIVED', message, { blockers: [{ kind: 'transfer', id: sent.id, remedy }] });
  }
  const failure: Failure = { kind: said.kind, declaredBy: said.side, declaredAt: now };
  const endedReason = said.reason ?? sent.endedReason;
  const earlier = sent.failure;
  const confirms = earlier !== null && earlier.declaredBy !== said.side;
  if (confirms && earlier.kind !== said.kind) {
    const remedy = `Confirm it as ${earlier.kind}, or receive what is there: that takes the other side's word back.`;
    const message = `The other side says ${words(earlier.kind)}, not that ${words(said.kind)}. ${remedy}`;
    return refuse('TRANSFER_FAILURE_DIFFERS', message, { blockers: [{ kind: 'transfer', id: sent.id, remedy }] });
  }
  if (confirms || said.alone) {
    return decide({ ...sent, state: 'failed', failure: confirms ? earlier : failure, endedReason, closedAt: now });
  }
  if (earlier?.kind === said.kind) {
    const remedy = 'The other side confirms it next, or receives what arrived after all.';
    const message = `You have said that already. ${remedy}`;
    return refuse('TRANSFER_FAILURE_DECLARED', message, { blockers: [{ kind: 'transfer', id: sent.id, remedy }] });
  }
  return decide({ ...sent, failure, endedReason });
}

function words(kind: Failure['kind']): string {
  return kind === 'came_back' ? 'the animals came back' : 'they never arrived';
}
