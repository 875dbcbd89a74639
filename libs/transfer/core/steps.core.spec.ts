import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import {
  acceptTransfer,
  cancelTransfer,
  declineTransfer,
  expireTransfer,
  sendTransfer,
  withdrawTransfer,
} from './steps.core.js';
import { animal, facts, item, offered, sent } from './transfer-fixtures.js';

const NOW = new Date('2026-06-02T10:00:00Z');
const TODAY = day('2026-06-10');
const accepted = { ...offered(item('a')), state: 'accepted' as const, acceptedAt: NOW };

const CLOCK = { now: NOW, today: TODAY };

describe('accept, decline, withdraw, cancel, expire', () => {
  it('given an offer, acceptance records when', () => {
    expect(acceptTransfer(offered(), CLOCK)).toMatchObject({ ok: true, value: { state: 'accepted', acceptedAt: NOW } });
  });

  it('given an offer accepted already, a second acceptance is refused', () => {
    expect(acceptTransfer(accepted, CLOCK)).toMatchObject({ ok: false, refusal: { rule: 'TRANSFER_NOT_OFFERED' } });
  });

  it('given a day to answer by, it can be accepted on that day and expires after it', () => {
    const until = (answerBy: string) => ({ ...offered(), answerBy: day(answerBy) });
    expect(acceptTransfer(until('2026-06-10'), CLOCK)).toMatchObject({ ok: true });
    expect(expireTransfer(until('2026-06-10'), CLOCK)).toBeNull();
    expect(acceptTransfer(until('2026-06-09'), CLOCK)).toMatchObject({ refusal: { rule: 'TRANSFER_OFFER_EXPIRED' } });
    expect(expireTransfer(until('2026-06-09'), CLOCK)).toMatchObject({ state: 'expired', closedAt: NOW });
    expect(expireTransfer({ ...accepted, answerBy: day('2026-06-09') }, CLOCK)).toBeNull();
    expect(expireTransfer(offered(), CLOCK)).toBeNull();
  });

  it('given an offer, each side can end it; given an acceptance, both only by cancelling', () => {
    expect(declineTransfer(offered(), NOW)).toMatchObject({ value: { state: 'declined', closedAt: NOW } });
    expect(withdrawTransfer(offered(), NOW)).toMatchObject({ value: { state: 'withdrawn', closedAt: NOW } });
    expect(declineTransfer(accepted, NOW)).toMatchObject({ refusal: { rule: 'TRANSFER_NOT_DECLINABLE' } });
    expect(withdrawTransfer(accepted, NOW)).toMatchObject({ refusal: { rule: 'TRANSFER_NOT_WITHDRAWABLE' } });
    const said = { side: 'receiver' as const, reason: 'No room.' };
    expect(cancelTransfer(accepted, said, NOW)).toMatchObject({
      value: { state: 'cancelled', cancelledBy: 'receiver', endedReason: 'No room.', closedAt: NOW },
    });
    expect(cancelTransfer(offered(), said, NOW)).toMatchObject({ refusal: { rule: 'TRANSFER_NOT_CANCELLABLE' } });
    expect(cancelTransfer(sent(), said, NOW)).toMatchObject({ refusal: { rule: 'TRANSFER_NOT_CANCELLABLE' } });
  });
});

describe('sendTransfer', () => {
  it('given an accepted transfer, records the day; a past one too', () => {
    const sentOn = day('2026-06-01');
    expect(sendTransfer(accepted, sentOn, facts(animal('a')), TODAY)).toMatchObject({
      value: { state: 'sent', sentOn },
    });
  });

  it('given an offer nobody accepted, refuses', () => {
    expect(sendTransfer(offered(item('a')), TODAY, facts(animal('a')), TODAY)).toMatchObject({
      refusal: { rule: 'TRANSFER_NOT_ACCEPTED' },
    });
  });

  it('given a day in the future, refuses at the field', () => {
    expect(sendTransfer(accepted, day('2026-06-11'), facts(animal('a')), TODAY)).toMatchObject({
      refusal: { rule: 'TRANSFER_SENT_IN_FUTURE', fields: [{ path: 'input.sentOn' }] },
    });
  });

  it.each([
    ['died after the offer', animal('a', { fate: 'dead', holderKeeperId: null }), 'TRANSFER_ANIMAL_GONE'],
    ['left the giver', animal('a', { holderKeeperId: 'other' }), 'TRANSFER_NOT_HELD'],
    ['is held since a later day', animal('a', { heldSince: day('2026-06-10') }), 'TRANSFER_SENT_BEFORE_HELD'],
    ['is a lot of another number now', animal('a', { kind: 'lot', count: 3 }), 'TRANSFER_LOT_CHANGED'],
  ])('given an animal that %s, refuses and names it', (_, at, rule) => {
    expect(sendTransfer(accepted, day('2026-06-09'), facts(at), TODAY)).toMatchObject({
      refusal: { rule, blockers: [{ kind: 'animal', id: 'a' }] },
    });
  });
});
