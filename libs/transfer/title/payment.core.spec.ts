import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { awaitsPayment, confirmPayment, declarePayment, MAX_PAYMENTS, questionPayment } from './payment.core.js';
import { type Payment, type Transfer } from '../core/transfer.core.js';
import { item, offered, sent } from '../core/transfer-fixtures.js';

const TODAY = day('2026-06-10');
const paid = (id: string, minor: number, state: Payment['state'] = 'declared'): Payment => {
  return { id, minor, paidOn: day('2026-06-08'), state, note: null, answerNote: null };
};
/** A sent sale for 100.00 that waits for its price. */
const sale = (...payments: Payment[]): Transfer => {
  return { ...sent(item('a')), kind: 'sale', title: 'when_paid', price: { minor: 10_000, currency: 'EUR' }, payments };
};

describe('what waits for payment', () => {
  it('a sale whose property waits, from acceptance until it is paid up', () => {
    expect(awaitsPayment(sale())).toBe(true);
    expect(awaitsPayment({ ...sale(), title: 'on_receipt' })).toBe(false);
    expect(awaitsPayment({ ...sale(), paidUpOn: TODAY })).toBe(false);
    expect(awaitsPayment({ ...offered(item('a')), title: 'when_paid' })).toBe(false);
  });

  it('once received, only while an item waits: what went back is paid for no more', () => {
    const received = (titleDue: boolean): Transfer => {
      const closed = { state: 'received' as const, receivedOn: TODAY, closedAt: new Date(), acceptedAt: new Date() };
      return { ...sale(), ...closed, sentOn: TODAY, items: [{ ...item('a'), titleDue }] };
    };
    expect(awaitsPayment(received(true))).toBe(true);
    expect(awaitsPayment(received(false))).toBe(false);
  });
});

describe('declaring a payment', () => {
  const declare = (transfer: Transfer, minor: number) => declarePayment(transfer, paid('new', minor), TODAY);

  it('takes what is left of the price to the last cent, and not a cent more', () => {
    const half = sale(paid('1', 3_000, 'confirmed'), paid('2', 2_000));
    expect(declare(half, 5_000)).toMatchObject({ ok: true, value: { minor: 5_000 } });
    expect(declare(half, 5_001)).toMatchObject({
      refusal: { rule: 'PAYMENT_TOO_MUCH', fields: [{ path: 'input.minor' }] },
    });
  });

  it('does not count what the giver said had not arrived', () => {
    expect(declare(sale(paid('1', 10_000, 'questioned')), 10_000)).toMatchObject({ ok: true });
  });

  it('refuses a day to come, a transfer that waits for nothing, and the hundred-and-first', () => {
    const later = { ...paid('new', 1), paidOn: day('2026-06-11') };
    expect(declarePayment(sale(), later, TODAY)).toMatchObject({ refusal: { rule: 'PAYMENT_IN_FUTURE' } });
    expect(declare({ ...sale(), paidUpOn: TODAY }, 1)).toMatchObject({ refusal: { rule: 'PAYMENT_NOT_AWAITED' } });
    const many = Array.from({ length: MAX_PAYMENTS }, (_, i) => paid(String(i), 1, 'questioned'));
    expect(declare(sale(...many), 1)).toMatchObject({ refusal: { rule: 'PAYMENT_TOO_MANY' } });
  });
});

describe('answering a payment', () => {
  it('the price is paid with the confirmation that reaches it, and only then', () => {
    const first = confirmPayment(sale(paid('1', 4_000), paid('2', 6_000)), '1');
    expect(first).toMatchObject({ value: { payment: { state: 'confirmed' }, paidUp: false } });
    const last = confirmPayment(sale(paid('1', 4_000, 'confirmed'), paid('2', 6_000)), '2');
    expect(last).toMatchObject({ value: { paidUp: true } });
  });

  it('what is confirmed stays so', () => {
    const confirmed = sale(paid('1', 4_000, 'confirmed'));
    expect(confirmPayment(confirmed, '1')).toMatchObject({ refusal: { rule: 'PAYMENT_ANSWERED' } });
    expect(questionPayment(confirmed, '1')).toMatchObject({ refusal: { rule: 'PAYMENT_ANSWERED' } });
  });

  it('one that was questioned can still be confirmed, while there is room for it', () => {
    expect(questionPayment(sale(paid('1', 10_000)), '1')).toMatchObject({ value: { state: 'questioned' } });
    expect(confirmPayment(sale(paid('1', 10_000, 'questioned')), '1')).toMatchObject({ value: { paidUp: true } });
    const again = sale(paid('1', 10_000, 'questioned'), paid('2', 10_000));
    expect(confirmPayment(again, '1')).toMatchObject({ refusal: { rule: 'PAYMENT_TOO_MUCH' } });
  });
});
