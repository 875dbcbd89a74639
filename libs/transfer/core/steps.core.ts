import { compareDays, type Day, type Decision, decide, refuse } from '../../kernel/index.js';
import { goneProblem } from './offer.core.js';
import {
  type AcceptedTransfer,
  type AnimalAtHand,
  type CancelledTransfer,
  type DeclinedTransfer,
  type ExpiredTransfer,
  type SentTransfer,
  type Side,
  type Transfer,
  type WithdrawnTransfer,
} from './transfer.core.js';
import { inStateFor } from './transitions.core.js';

/** The receiver takes the offer. The giver holds on until the animals are received. */
export function acceptTransfer(transfer: Transfer, clock: { now: Date; today: Day }): Decision<AcceptedTransfer> {
  const at = inStateFor('accept', transfer);
  if (!at.ok) return at;
  if (isExpired(at.value, clock.today)) {
    const remedy = 'Ask the giver for a new offer.';
    const message = `The offer could be accepted until ${at.value.answerBy}. ${remedy}`;
    return refuse('TRANSFER_OFFER_EXPIRED', message, { blockers: [{ kind: 'transfer', id: transfer.id, remedy }] });
  }
  return decide({ ...at.value, state: 'accepted', acceptedAt: clock.now });
}

/** The receiver does not want the animals. */
export function declineTransfer(transfer: Transfer, now: Date): Decision<DeclinedTransfer> {
  const at = inStateFor('decline', transfer);
  if (!at.ok) return at;
  return decide({ ...at.value, state: 'declined', acceptedAt: null, closedAt: now });
}

/** The giver takes the offer back before it is accepted. */
export function withdrawTransfer(transfer: Transfer, now: Date): Decision<WithdrawnTransfer> {
  const at = inStateFor('withdraw', transfer);
  if (!at.ok) return at;
  return decide({ ...at.value, state: 'withdrawn', acceptedAt: null, closedAt: now });
}

/** Either side calls off what was accepted, before it is sent. */
export function cancelTransfer(
  transfer: Transfer,
  said: { readonly side: Side; readonly reason: string },
  now: Date,
): Decision<CancelledTransfer> {
  const at = inStateFor('cancel', transfer);
  if (!at.ok) return at;
  return decide({ ...at.value, state: 'cancelled', cancelledBy: said.side, endedReason: said.reason, closedAt: now });
}

/** The day to answer by is over and nobody did; null while there is time, or when somebody acted meanwhile. */
export function expireTransfer(transfer: Transfer, clock: { now: Date; today: Day }): ExpiredTransfer | null {
  if (transfer.state !== 'offered' || !isExpired(transfer, clock.today)) return null;
  return { ...transfer, state: 'expired', closedAt: clock.now };
}

/** Whether the last day to accept an offer is over. */
function isExpired({ answerBy }: Pick<Transfer, 'answerBy'>, today: Day): boolean {
  return answerBy !== null && compareDays(answerBy, today) < 0;
}

/**
 * The giver hands the animals to the carrier, or over the table. `animals` are the facts of every item, read under lock:
 * what died, left or changed in number after the offer stands in the way.
 */
export function sendTransfer(
  transfer: Transfer,
  sentOn: Day,
  animals: ReadonlyMap<string, AnimalAtHand>,
  today: Day,
): Decision<SentTransfer> {
  const at = inStateFor('send', transfer);
  if (!at.ok) return at;
  if (compareDays(sentOn, today) > 0) {
    return refuse('TRANSFER_SENT_IN_FUTURE', `The day of sending, ${sentOn}, has not come yet.`, {
      fields: [
        { path: 'input.sentOn', message: `${sentOn} is in the future.`, remedy: `Write ${today} or an earlier day.` },
      ],
    });
  }
  const problems = at.value.items.flatMap((item) => {
    const animal = animals.get(item.animalId);
    return animal === undefined ? [] : (sendProblem(at.value, item.count, animal, sentOn) ?? []);
  });
  const [first] = problems;
  if (first !== undefined) {
    return refuse(first.rule, first.message, { blockers: problems.map((problem) => problem.blocker) });
  }
  return decide({ ...at.value, state: 'sent', sentOn, failure: null });
}

function sendProblem(transfer: AcceptedTransfer, offered: number, animal: AnimalAtHand, sentOn: Day) {
  const gone = goneProblem(transfer.fromKeeperId, animal);
  if (gone !== null) return gone;
  if (animal.count !== offered) {
    const remedy = 'Withdraw this transfer and offer the lot again.';
    const message = `The lot was offered with ${offered} and now counts ${animal.count}. ${remedy}`;
    return { rule: 'TRANSFER_LOT_CHANGED' as const, message, blocker: { kind: 'animal', id: animal.id, remedy } };
  }
  if (animal.heldSince !== null && compareDays(sentOn, animal.heldSince) < 0) {
    const remedy = `Write ${animal.heldSince} or a later day.`;
    const message = `The giver holds the animal since ${animal.heldSince} only, so it was not sent on ${sentOn}. ${remedy}`;
    return { rule: 'TRANSFER_SENT_BEFORE_HELD' as const, message, blocker: { kind: 'animal', id: animal.id, remedy } };
  }
  return null;
}
