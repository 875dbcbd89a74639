import { compareDays, type Day, type Decision, decide, refuse } from '../../kernel/index.js';
import { type Payment, type Transfer } from '../core/transfer.core.js';

/** Most payments of a transfer, whatever became of them; a list of them is read with each step. */
export const MAX_PAYMENTS = 100;

/** What a payment waits for: a transfer whose property moves when paid, under way or arrived, and not paid up. */
export function awaitsPayment(transfer: Transfer): boolean {
  if (transfer.title !== 'when_paid' || transfer.paidUpOn !== null) return false;
  if (transfer.state === 'accepted' || transfer.state === 'sent') return true;
  return transfer.state === 'received' && transfer.items.some(({ titleDue }) => titleDue);
}

/** The sum, in minor units, of payments in one of the states. */
export function sumOf(payments: readonly Payment[], ...states: readonly Payment['state'][]): number {
  return payments.filter(({ state }) => states.includes(state)).reduce((sum, { minor }) => sum + minor, 0);
}

/** The receiver says that something was paid. Together with what is confirmed or waits for an answer it is at most the price. */
export function declarePayment(transfer: Transfer, payment: Payment, today: Day): Decision<Payment> {
  const open = requireAwaiting(transfer);
  if (!open.ok) return open;
  if (compareDays(payment.paidOn, today) > 0) {
    const message = `The day of payment, ${payment.paidOn}, has not come yet.`;
    const remedy = `Write ${today} or an earlier day.`;
    return refuse('PAYMENT_IN_FUTURE', message, { fields: [{ path: 'input.paidOn', message, remedy }] });
  }
  if (transfer.payments.length >= MAX_PAYMENTS)
    return refuse('PAYMENT_TOO_MANY', `A transfer holds at most ${MAX_PAYMENTS} payments. Put several into one.`);
  return withinPrice(transfer, payment, sumOf(transfer.payments, 'declared', 'confirmed'));
}

/** What a giver's answer makes of the payments, and whether the price is paid with it. */
export type Answered = { readonly payment: Payment; readonly paidUp: boolean };

/** The giver has received a payment; one of which it said that it had not arrived can still come. */
export function confirmPayment(transfer: Transfer, paymentId: string): Decision<Answered> {
  const found = findPayment(transfer, paymentId);
  if (found === undefined) throw new Error(`Not a payment of this transfer: ${paymentId}`);
  if (found.state === 'confirmed')
    return refuse('PAYMENT_ANSWERED', 'This payment is confirmed already.', { blockers: [blocker(found)] });
  const open = requireAwaiting(transfer);
  if (!open.ok) return open;
  const others = transfer.payments.filter(({ id }) => id !== paymentId);
  // A declared one had its place when it was declared; one that did not count meanwhile has to find room again.
  const fits = withinPrice(transfer, found, sumOf(others, 'declared', 'confirmed'));
  if (!fits.ok) return fits;
  const paidUp = sumOf(others, 'confirmed') + found.minor === transfer.price?.minor;
  return decide({ payment: { ...found, state: 'confirmed' }, paidUp });
}

/** The giver says that a payment has not arrived. It counts no more until the giver confirms it after all. */
export function questionPayment(transfer: Transfer, paymentId: string): Decision<Payment> {
  const found = findPayment(transfer, paymentId);
  if (found === undefined) throw new Error(`Not a payment of this transfer: ${paymentId}`);
  if (found.state !== 'declared') {
    const message =
      found.state === 'confirmed'
        ? 'This payment is confirmed; what was confirmed stays so.'
        : 'You have said already that this payment has not arrived.';
    return refuse('PAYMENT_ANSWERED', message, { blockers: [blocker(found)] });
  }
  return decide({ ...found, state: 'questioned' });
}

/** A payment of the transfer by its id. */
export function findPayment(transfer: Pick<Transfer, 'payments'>, paymentId: string): Payment | undefined {
  return transfer.payments.find(({ id }) => id === paymentId);
}

function blocker({ id }: Payment) {
  return { kind: 'payment', id, remedy: 'Read the transfer again.' };
}

function requireAwaiting(transfer: Transfer): Decision<null> {
  if (awaitsPayment(transfer)) return decide(null);
  const message =
    transfer.title !== 'when_paid'
      ? 'Property in this transfer does not wait for payment, so no payment is recorded with it.'
      : transfer.paidUpOn !== null
        ? `The price was paid up on ${transfer.paidUpOn}.`
        : transfer.state === 'offered'
          ? 'The offer is not accepted yet.'
          : 'Nothing is left that this payment could be for: the animals are not with the receiver.';
  return refuse('PAYMENT_NOT_AWAITED', message, {
    blockers: [{ kind: 'transfer', id: transfer.id, remedy: 'Read the transfer again.' }],
  });
}

function withinPrice(transfer: Transfer, payment: Payment, counted: number): Decision<Payment> {
  const left = (transfer.price?.minor ?? 0) - counted;
  if (payment.minor <= left) return decide(payment);
  const message = `${left} (in minor units) of the price are left, ${payment.minor} are more.`;
  const remedy = left === 0 ? 'All of it is paid, or waits for an answer.' : `Write ${left} or less.`;
  return refuse('PAYMENT_TOO_MUCH', `${message} ${remedy}`, { fields: [{ path: 'input.minor', message, remedy }] });
}
