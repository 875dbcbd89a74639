import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { acceptTransfer, declineTransfer, sendTransfer, withdrawTransfer } from './steps.core.js';
import { animal, facts, item, offered, sent } from './transfer-fixtures.js';

const NOW = new Date('2026-06-02T10:00:00Z');
const TODAY = day('2026-06-10');
const accepted = { ...offered(item('a')), state: 'accepted' as const, acceptedAt: NOW };

describe('accept, decline, withdraw', () => {
  it('given an offer, acceptance records when', () => {
    expect(acceptTransfer(offered(), NOW)).toMatchObject({ ok: true, value: { state: 'accepted', acceptedAt: NOW } });
  });

  it('given an offer accepted already, a second acceptance is refused', () => {
    expect(acceptTransfer(accepted, NOW)).toMatchObject({ ok: false, refusal: { rule: 'TRANSFER_NOT_OFFERED' } });
  });

  it('given an offer or an accepted transfer, both sides can still end it', () => {
    expect(declineTransfer(offered(), NOW)).toMatchObject({
      value: { state: 'declined', acceptedAt: null, closedAt: NOW },
    });
    expect(declineTransfer(accepted, NOW)).toMatchObject({ value: { state: 'declined', acceptedAt: NOW } });
    expect(withdrawTransfer(accepted, NOW)).toMatchObject({ value: { state: 'withdrawn', acceptedAt: NOW } });
  });

  it('given animals that are sent, neither side can end it', () => {
    expect(declineTransfer(sent(), NOW)).toMatchObject({ refusal: { rule: 'TRANSFER_NOT_DECLINABLE' } });
    expect(withdrawTransfer(sent(), NOW)).toMatchObject({ refusal: { rule: 'TRANSFER_NOT_WITHDRAWABLE' } });
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
